package work

import (
	"fmt"
	"html"
	"net/netip"
	"net/url"
	"strings"
	"time"

	"damperdesk/internal/mail"
	"damperdesk/internal/message"
)

// envelope puts the letter into what is sent: who it is from, and where its
// reader says what they want to be written.
func (p Post) envelope(msg message.Message, l message.Letter, shopName string, now time.Time) mail.Message {
	m := mail.Message{ID: fmt.Sprintf("%s.%d", msg.Intent, msg.ID), At: now, FromName: shopName, To: msg.Mail, ToName: msg.ToName,
		Subject: l.Subject, Text: l.Text, HTML: l.HTML}
	if msg.Kind == message.Test {
		return m
	}
	// Mail programs know what follows "-- " for a signature, and leave it out of
	// replies: RFC 3676 4.3.
	address := p.BaseURL + "/m/" + message.Token(p.Key, msg.ID, msg.Kind)
	m.Text = strings.TrimRight(m.Text, "\n") + "\n\n-- \n" + choose(shopName) + ":\n" + address + "\n"
	if m.HTML != "" {
		link := `<p><small><a href="` + html.EscapeString(address) + `">` + html.EscapeString(choose(shopName)) + `</a></small></p>`
		if end := strings.LastIndex(m.HTML, "</body>"); end >= 0 {
			m.HTML = m.HTML[:end] + link + m.HTML[end:]
		} else {
			m.HTML += link
		}
	}
	if public(p.BaseURL) {
		m.Unsubscribe = address
	}
	return m
}

func choose(shopName string) string {
	return "Choose what " + shopName + " writes to you, or stop it"
}

// public reports whether mail servers out there can be expected to reach the
// address by HTTPS.
func public(baseURL string) bool {
	u, err := url.Parse(baseURL)
	if err != nil || u.Scheme != "https" {
		return false
	}
	if addr, err := netip.ParseAddr(u.Hostname()); err == nil {
		return addr.IsGlobalUnicast() && !addr.IsPrivate()
	}
	return strings.Contains(u.Hostname(), ".")
}

func testLetter(shopName string) message.Letter {
	return message.Letter{Subject: "Test message of " + shopName,
		Text: "This is a test. If you read it, " + shopName + " can write to its customers.\n"}
}
