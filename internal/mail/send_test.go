package mail

import (
	"context"
	"errors"
	"net"
	"net/mail"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-smtp"

	"damperdesk/internal/mail/mailtest"
)

var letter = Message{ID: "one.1", At: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC), FromName: "Weir Lane Cycles",
	To: "rider@example.com", ToName: "Ada Rider", Subject: "Ready", Text: "It is ready.\n.\nA line that begins with a dot.\n", HTML: "<p>It is ready.</p>"}

func with(s *mailtest.Server, security Security) Server {
	return Server{Host: s.Host, Port: s.Port, Security: security, From: "desk@example.org", roots: s.Roots, Patience: 5 * time.Second}
}

// handed counts how often a message was about to be handed over.
type handed int

func (h *handed) over() error { *h++; return nil }

// outcome sends the letter and says how it went.
func outcome(t *testing.T, s Server, m Message) (Why, int) {
	t.Helper()
	var h handed
	err := s.Send(t.Context(), m, h.over)
	if err == nil {
		return 0, int(h)
	}
	var f *Failure
	if !errors.As(err, &f) {
		t.Fatalf("an error of another kind: %v", err)
	}
	return f.Why, int(h)
}

// It arrives over each kind of line, signed in or not, dots and all.
func TestItIsSentOverEachKindOfLine(t *testing.T) {
	for _, c := range []struct {
		name     string
		settings mailtest.Settings
		security Security
	}{
		{"open on this machine", mailtest.Settings{}, Plain},
		{"STARTTLS", mailtest.Settings{StartTLS: true, Auth: true}, StartTLS},
		{"TLS", mailtest.Settings{TLS: true, Auth: true}, TLS},
	} {
		t.Run(c.name, func(t *testing.T) {
			server := mailtest.Start(t, c.settings)
			s := with(server, c.security)
			user := ""
			if c.settings.Auth {
				s.User, s.Password, user = mailtest.User, mailtest.Password, mailtest.User
			}
			if why, n := outcome(t, s, letter); why != 0 || n != 1 {
				t.Fatalf("failed at %d, handed over %d times", why, n)
			}
			got := server.Received()
			if len(got) != 1 || got[0].From != "desk@example.org" || got[0].To != letter.To || got[0].User != user {
				t.Fatalf("received %+v", got)
			}
			if !strings.Contains(got[0].Data, "It is ready.\r\n.\r\nA line") {
				t.Errorf("the text is not as it was written:\n%s", got[0].Data)
			}
		})
	}
}

// What keeps a message from going out, and whether it may have been sent: only
// then was it handed over.
func TestEveryFailureSaysWhetherItMayHaveBeenSent(t *testing.T) {
	refuse := func(at mailtest.Stage, code int) func(mailtest.Stage, string) error {
		return func(stage mailtest.Stage, _ string) error {
			if stage == at {
				return &smtp.SMTPError{Code: code, EnhancedCode: smtp.EnhancedCodeNotSet, Message: "no"}
			}
			return nil
		}
	}
	cut := func(at mailtest.Stage) func(mailtest.Stage, string) error {
		return func(stage mailtest.Stage, _ string) error {
			if stage == at {
				return mailtest.ErrCut
			}
			return nil
		}
	}
	large := letter
	large.Text = strings.Repeat("a long line of nothing in particular\n", 200_000)
	for _, c := range []struct {
		name     string
		settings mailtest.Settings
		change   func(*Server)
		m        Message
		want     Why
		handed   int
		received int
	}{
		{name: "wrong password", settings: mailtest.Settings{TLS: true, Auth: true}, m: letter, want: SignIn,
			change: func(s *Server) { s.Security, s.User, s.Password = TLS, mailtest.User, "another" }},
		{name: "no STARTTLS", m: letter, want: NotSecure, change: func(s *Server) { s.Security = StartTLS }},
		{name: "a certificate nobody knows", settings: mailtest.Settings{TLS: true}, m: letter, want: NotSecure,
			change: func(s *Server) { s.Security, s.roots = TLS, nil }},
		{name: "no server", m: letter, want: Unreachable, change: func(s *Server) { s.Port = closedPort(t) }},
		{name: "no address", m: Message{To: "rider@example.com\r\nRCPT TO:<other@example.com>", Text: "x"}, want: BadAddress},
		{name: "address refused", settings: mailtest.Settings{At: refuse(mailtest.Rcpt, 550)}, m: letter, want: BadAddress},
		{name: "address put off", settings: mailtest.Settings{At: refuse(mailtest.Rcpt, 451)}, m: letter, want: PutOff},
		{name: "put off when it was whole", settings: mailtest.Settings{At: refuse(mailtest.Whole, 452)}, m: letter, want: PutOff, handed: 1},
		{name: "refused when it was whole", settings: mailtest.Settings{At: refuse(mailtest.Whole, 554)}, m: letter, want: Refused, handed: 1},
		{name: "cut in its text", settings: mailtest.Settings{At: cut(mailtest.Begun)}, m: large, want: BrokeOff},
		{name: "cut at the address", settings: mailtest.Settings{At: cut(mailtest.Rcpt)}, m: letter, want: BrokeOff},
		{name: "cut after its last dot", settings: mailtest.Settings{At: cut(mailtest.Whole)}, m: letter, want: NoReply, handed: 1, received: 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			server := mailtest.Start(t, c.settings)
			s := with(server, Plain)
			if c.change != nil {
				c.change(&s)
			}
			why, n := outcome(t, s, c.m)
			if why != c.want || n != c.handed || len(server.Received()) != c.received {
				t.Errorf("failed at %d, want %d; handed over %d times, want %d; received %d, want %d", why, c.want, n, c.handed, len(server.Received()), c.received)
			}
		})
	}
}

func closedPort(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}

// A message whose handing over is stopped never gets its last dot, so that the
// server drops what it has.
func TestNothingIsSentWhereItsHandingOverIsStopped(t *testing.T) {
	server := mailtest.Start(t, mailtest.Settings{})
	stop := errors.New("stop")
	err := with(server, Plain).Send(t.Context(), letter, func() error { return stop })
	var f *Failure
	if !errors.As(err, &f) || f.Why != NotHanded || !errors.Is(err, stop) {
		t.Errorf("got %v", err)
	}
	time.Sleep(100 * time.Millisecond)
	if got := server.Received(); len(got) > 0 {
		t.Errorf("received %+v", got)
	}
}

// Whoever stops in the middle does not wait for a server that says nothing.
func TestItEndsSoonAfterItsContext(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	s := Server{Host: "127.0.0.1", Port: l.Addr().(*net.TCPAddr).Port, Security: Plain, From: "desk@example.org", Patience: 300 * time.Millisecond}
	begin := time.Now()
	var h handed
	if err := s.Send(ctx, letter, h.over); err == nil || h != 0 || time.Since(begin) > lastWords+time.Second {
		t.Errorf("%v after %v, handed over %d times", err, time.Since(begin), h)
	}
}

// RFC 5322 2.2: a header ends at CRLF, so no name or subject may bring one.
// RFC 2047 writes what is not ASCII, RFC 8058 the two headers of one click,
// RFC 3834 the one that keeps answering machines quiet.
func TestHeadersAreWhatWasMeantWhateverIsInThem(t *testing.T) {
	server := mailtest.Start(t, mailtest.Settings{})
	m := letter
	m.ToName, m.FromName = "Zoë\r\nBcc: other@example.com", "Weir Lane\nX-Own: 1, Cycles"
	m.Subject = "Prête\r\nX-Injected: yes\r\n\r\nand a body of its own " + strings.Repeat("long ", 40)
	m.Unsubscribe = "https://desk.example.org/m/1-abc"
	if why, _ := outcome(t, with(server, Plain), m); why != 0 {
		t.Fatalf("failed at %d", why)
	}
	parsed, err := mail.ReadMessage(strings.NewReader(server.Received()[0].Data))
	if err != nil {
		t.Fatal(err)
	}
	for name := range parsed.Header {
		if name == "Bcc" || strings.HasPrefix(name, "X-") {
			t.Errorf("a header came in: %s", name)
		}
	}
	words := func(name string) string {
		text, err := decoder.DecodeHeader(parsed.Header.Get(name))
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		return text
	}
	to, err := parsed.Header.AddressList("To")
	if err != nil || len(to) != 1 || to[0].Address != "rider@example.com" || to[0].Name != "Zoë Bcc: other@example.com" {
		t.Errorf("to %v, %v", to, err)
	}
	from, err := parsed.Header.AddressList("From")
	if err != nil || len(from) != 1 || from[0].Address != "desk@example.org" || from[0].Name != "Weir Lane X-Own: 1, Cycles" {
		t.Errorf("from %v, %v", from, err)
	}
	if got := words("Subject"); got != oneLine(m.Subject) || !strings.HasPrefix(got, "Prête X-Injected: yes and a body") {
		t.Errorf("subject %q", got)
	}
	for name, want := range map[string]string{
		"Message-Id": "<one.1@example.org>", "Date": "Sat, 14 Mar 2026 09:00:00 +0000", "Auto-Submitted": "auto-generated",
		"List-Unsubscribe": "<https://desk.example.org/m/1-abc>", "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
	} {
		if got := parsed.Header.Get(name); got != want {
			t.Errorf("%s: got %q, want %q", name, got, want)
		}
	}
	wantAlternatives(t, parsed)
}

// RFC 5322 2.1.1: at most 998 characters a line, which ends at CRLF and nowhere else.
// RFC 2047 2: at most 76 where one has an encoded word, each of 75 at most. RFC 5321
// 2.4: seven bits, where no server says that it takes eight.
func TestEveryLineIsOneThatMailServersTake(t *testing.T) {
	server := mailtest.Start(t, mailtest.Settings{})
	m := letter
	m.ToName = strings.Repeat("Zoë Þórsdóttir-Ångström, «ŁĘCKA» ", 6)
	m.FromName = strings.Repeat("Fjäderverkstaden Ölström & Søn ", 5)
	m.Subject = m.FromName + strings.Repeat("ł", 90)
	m.Text = strings.Repeat("å", 3000) + "\nshort\n"
	m.HTML = "<p>" + strings.Repeat("å<b>", 2000) + "</p>"
	if why, _ := outcome(t, with(server, Plain), m); why != 0 {
		t.Fatalf("failed at %d", why)
	}
	data := server.Received()[0].Data
	head, _, _ := strings.Cut(data, "\r\n\r\n")
	for _, line := range strings.Split(data, "\r\n") {
		most := 998
		if strings.Contains(line, "=?") && strings.Contains(head, line) {
			most = 76
		}
		if len(line) > most || strings.ContainsAny(line, "\r\n") || strings.ContainsFunc(line, func(r rune) bool { return r > 0x7e }) {
			t.Errorf("%d characters: %q", len(line), line)
		}
		for _, word := range strings.Fields(line) {
			if strings.HasPrefix(word, "=?") && len(word) > 75 {
				t.Errorf("an encoded word of %d characters: %s", len(word), word)
			}
		}
	}
	if strings.Contains(head, "Subject:\r\n") {
		t.Error("the line of the subject is empty")
	}
	parsed, err := mail.ReadMessage(strings.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{"To": oneLine(m.ToName), "From": oneLine(m.FromName)} {
		if list, err := parsed.Header.AddressList(name); err != nil || len(list) != 1 || list[0].Name != want {
			t.Errorf("%s is %v, %v; want %q", name, list, err, want)
		}
	}
	if got, err := decoder.DecodeHeader(parsed.Header.Get("Subject")); err != nil || got != oneLine(m.Subject) {
		t.Errorf("subject %q, %v", got, err)
	}
}

func TestALineWithoutCareIsRefused(t *testing.T) {
	good := Server{Host: "mail.example.org", Security: StartTLS, From: "desk@example.org", User: "desk", Password: "secret"}
	if err := good.Check(); err != nil {
		t.Errorf("%+v: %v", good, err)
	}
	for name, change := range map[string]func(*Server){
		"an open line elsewhere":         func(s *Server) { s.Security, s.User, s.Password = Plain, "", "" },
		"a password over an open line":   func(s *Server) { s.Host, s.Security = "localhost", Plain },
		"nobody it is from":              func(s *Server) { s.From = "" },
		"from what is no address":        func(s *Server) { s.From = "the desk" },
		"a security that there is not":   func(s *Server) { s.Security = "ssl" },
		"a password and nobody whose it": func(s *Server) { s.User = "" },
	} {
		s := good
		change(&s)
		if s.Check() == nil {
			t.Errorf("%s is taken", name)
		}
	}
	if err := (Server{Security: StartTLS}).Check(); err != nil {
		t.Errorf("no server at all: %v", err)
	}
}
