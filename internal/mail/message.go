package mail

import (
	"encoding/base64"
	"fmt"
	"net/mail"
	"strings"
	"time"
	"unicode/utf8"

	gomail "github.com/wneessen/go-mail"
)

// Message is what is handed over.
type Message struct {
	// ID is the same at every try, so that a mailbox may drop a second one.
	ID       string
	At       time.Time
	FromName string
	To       string
	ToName   string
	Subject  string
	Text     string
	HTML     string // empty: the text alone
	// Unsubscribe is an HTTPS address that ends such messages with one POST, by
	// RFC 8058; empty for none.
	Unsubscribe string
}

// compose makes the whole of it. Whatever is in names and subjects, it cannot
// begin another header.
func (s Server) compose(m Message) (*gomail.Msg, error) {
	msg := gomail.NewMsg(gomail.WithNoDefaultUserAgent())
	from, err := mail.ParseAddress(s.From)
	if err != nil {
		return nil, fmt.Errorf("from: %w", err)
	}
	to, err := mail.ParseAddress(m.To)
	if err != nil {
		return nil, fmt.Errorf("to: %w", err)
	}
	if name := oneLine(m.FromName); name != "" {
		from.Name = name
	}
	msg.FromMailAddress(from)
	msg.ToMailAddress(&mail.Address{Name: oneLine(m.ToName), Address: to.Address})
	if subject := oneLine(m.Subject); isASCII(subject) {
		msg.Subject(subject)
	} else {
		msg.SetGenHeaderPreformatted(gomail.HeaderSubject, encoded(subject))
	}
	msg.SetDateWithValue(m.At)
	msg.SetMessageIDWithValue(m.ID + "@" + s.domain())
	msg.SetGenHeader("Auto-Submitted", "auto-generated") // RFC 3834
	if m.Unsubscribe != "" {
		if err := msg.SetListUnsubscribeOneClick(m.Unsubscribe); err != nil {
			return nil, fmt.Errorf("unsubscribe: %w", err)
		}
	}
	msg.SetBodyString(gomail.TypeTextPlain, m.Text)
	if m.HTML != "" {
		msg.AddAlternativeString(gomail.TypeTextHTML, m.HTML)
	}
	return msg, nil
}

// word is how many bytes an encoded word holds: with its name before it the first
// one fits into a line, which some mail programs read alone.
const word = 36

// encoded writes words by RFC 2047, a line for each encoded word, none of which ends
// in the middle of a character.
func encoded(s string) string {
	var list []string
	for part := ""; s != ""; {
		_, size := utf8.DecodeRuneInString(s)
		part, s = part+s[:size], s[size:]
		if s == "" || len(part) > word-utf8.UTFMax {
			list, part = append(list, "=?utf-8?b?"+base64.StdEncoding.EncodeToString([]byte(part))+"?="), ""
		}
	}
	return strings.Join(list, "\r\n ")
}

func isASCII(s string) bool { return !strings.ContainsFunc(s, func(r rune) bool { return r > 0x7e }) }

// oneLine is the words with one space between them, and no control character.
func oneLine(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == '\u2028' || r == '\u2029' || r == '\u0085' {
			return ' '
		}
		return r
	}, s)
	return strings.Join(strings.Fields(s), " ")
}
