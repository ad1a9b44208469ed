package mail

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/mail"
	"net/textproto"
	"strings"
	"time"

	"github.com/wneessen/go-mail/smtp"
)

// Why is at what a message failed.
type Why int

// The failures. After NoReply alone the message may have been sent.
const (
	Unreachable Why = iota + 1
	NotSecure
	SignIn
	PutOff     // by a reply 4xx
	BadAddress // by a reply 5xx, or because it is none
	Refused    // by a reply 5xx to something else
	BrokeOff   // before its last dot
	NotHanded  // whoever sends stopped it at its last dot
	NoReply    // after its last dot
)

// Failure is that a message was not sent, or may not have been.
type Failure struct {
	Why Why
	Err error
}

func (f *Failure) Error() string { return f.Err.Error() }
func (f *Failure) Unwrap() error { return f.Err }

const (
	dialing = 20 * time.Second
	// patience is how long an answer may take, and lastReply how many times as long
	// that to the last dot. RFC 5321 4.5.3.2 wants five minutes and ten; what is
	// later than this is tried again, or after the dot is doubtful.
	patience  = time.Minute
	lastReply = 5
	// lastWords is how long the server may still answer when ctx has ended.
	lastWords = 4 * time.Second
)

// Send hands the message over, on a line of its own. Once all but the last dot
// is out it calls handOver; if that fails the dot never goes, and the message
// was not sent. Every error is a *Failure.
func (s Server) Send(ctx context.Context, m Message, handOver func() error) error {
	if err := s.Check(); err != nil {
		return &Failure{Unreachable, err}
	}
	to, err := mail.ParseAddress(m.To)
	if err != nil {
		return &Failure{BadAddress, err}
	}
	l, err := s.open(ctx)
	if err != nil {
		return err
	}
	// Never Quit before the message is through: it would end the text with a
	// dot of its own, and half a message would be sent.
	defer l.Close()
	defer context.AfterFunc(ctx, func() { l.conn.SetDeadline(time.Now().Add(lastWords)) })()
	return l.send(ctx, s, to.Address, m, handOver)
}

// line is a conversation with the server.
type line struct {
	*smtp.Client
	conn     net.Conn
	patience time.Duration
}

// wait gives the server time for its next answers.
func (l line) wait(ctx context.Context, d time.Duration) {
	if ctx.Err() != nil {
		d = min(d, lastWords)
	}
	l.conn.SetDeadline(time.Now().Add(d))
}

func (s Server) open(ctx context.Context) (line, error) {
	l := line{patience: s.Patience}
	if l.patience == 0 {
		l.patience = patience
	}
	dialer := net.Dialer{Timeout: min(dialing, l.patience)}
	var err error
	if l.conn, err = dialer.DialContext(ctx, "tcp", s.Address()); err != nil {
		return l, &Failure{Unreachable, err}
	}
	if err := l.greet(ctx, s); err != nil {
		l.conn.Close()
		return l, err
	}
	return l, nil
}

// greet brings the line to where a message can begin.
func (l *line) greet(ctx context.Context, s Server) error {
	l.wait(ctx, l.patience)
	conn, settings := l.conn, &tls.Config{ServerName: s.Host, RootCAs: s.roots, MinVersion: tls.VersionTLS12}
	if s.Security == TLS {
		secured := tls.Client(l.conn, settings)
		if err := secured.HandshakeContext(ctx); err != nil {
			return &Failure{NotSecure, err}
		}
		conn = secured
	}
	var err error
	if l.Client, err = smtp.NewClient(conn, s.Host); err != nil {
		return &Failure{Unreachable, err}
	}
	if err := l.Hello(helloName()); err != nil {
		return &Failure{Unreachable, err}
	}
	if s.Security == StartTLS {
		if ok, _ := l.Extension("STARTTLS"); !ok {
			return &Failure{NotSecure, errors.New("the server does not offer STARTTLS")}
		}
		if err := l.StartTLS(settings); err != nil {
			return &Failure{NotSecure, err}
		}
	}
	return l.signIn(s)
}

// signIn is by PLAIN, else LOGIN, both of which go over a secured line alone.
func (l *line) signIn(s Server) error {
	if s.User == "" {
		return nil
	}
	ok, offered := l.Extension("AUTH")
	mechanisms := strings.Fields(strings.ToUpper(offered))
	has := func(name string) bool {
		for _, m := range mechanisms {
			if m == name {
				return ok
			}
		}
		return false
	}
	var auth smtp.Auth
	switch {
	case has("PLAIN"):
		auth = smtp.PlainAuth("", s.User, s.Password, s.Host, false)
	case has("LOGIN"):
		auth = smtp.LoginAuth(s.User, s.Password, s.Host, false)
	default:
		return &Failure{SignIn, fmt.Errorf("the server offers neither PLAIN nor LOGIN: %q", offered)}
	}
	if err := l.Auth(auth); err != nil {
		return &Failure{SignIn, err}
	}
	return nil
}

func (l line) send(ctx context.Context, s Server, to string, m Message, handOver func() error) error {
	msg, err := s.compose(m)
	if err != nil {
		return &Failure{Refused, err}
	}
	from, err := mail.ParseAddress(s.From)
	if err != nil {
		return &Failure{Refused, err}
	}
	l.wait(ctx, l.patience)
	if err := l.Mail("<" + from.Address + ">"); err != nil {
		return refusal(Refused, err)
	}
	if err := l.Rcpt("<" + to + ">"); err != nil {
		return refusal(BadAddress, err)
	}
	text, err := l.Data()
	if err != nil {
		return refusal(Refused, err)
	}
	if _, err := msg.WriteTo(text); err != nil {
		return &Failure{BrokeOff, err}
	}
	if err := handOver(); err != nil {
		return &Failure{NotHanded, err}
	}
	l.wait(ctx, lastReply*l.patience)
	if err := text.Close(); err != nil {
		return reply(err)
	}
	l.wait(ctx, time.Second)
	l.Quit() // it has the message; how it says goodbye is nothing to us
	return nil
}

// refusal is a failure before the last dot.
func refusal(by Why, err error) error {
	switch code := codeOf(err); code / 100 {
	case 4:
		return &Failure{PutOff, err}
	case 5:
		return &Failure{by, err}
	}
	return &Failure{BrokeOff, err}
}

// reply is a failure after it: whatever is no clear refusal is in doubt.
func reply(err error) error {
	switch code := codeOf(err); code / 100 {
	case 4:
		return &Failure{PutOff, err}
	case 5:
		return &Failure{Refused, err}
	}
	return &Failure{NoReply, err}
}

func codeOf(err error) int {
	var said *textproto.Error
	if errors.As(err, &said) {
		return said.Code
	}
	return 0
}
