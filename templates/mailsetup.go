package templates

import (
	"strconv"

	"damperdesk/internal/mail"
	"damperdesk/internal/message"
)

// MailSetupPage is how messages go out.
type MailSetupPage struct {
	Base
	Mail  mail.Server
	Links string // what links in messages begin with
	Given bool   // somebody said so, so that customers can be expected to reach it
	Quiet message.Quiet
	Hours Base // the form of the quiet hours
	Test  Base // the form of the test
	Last  *message.Entry
}

var securityWords = map[mail.Security]string{
	mail.StartTLS: "secured by STARTTLS",
	mail.TLS:      "secured by TLS from the first byte",
	mail.Plain:    "open, on this machine",
}

func (p MailSetupPage) facts() []fact {
	list := []fact{
		{"Mail server", p.Mail.Address()},
		{"Connection", securityWords[p.Mail.Security]},
		{"Signs in as", p.Mail.User},
		{"Mail is from", p.Shop + " <" + p.Mail.From + ">"},
		{"Links begin with", p.Links},
	}
	if p.Mail.User == "" {
		list[2].words = "nobody"
	}
	return list
}

func (p MailSetupPage) hours(name, label string, min int) Field {
	return Field{Name: name, Label: label, Type: "time", Value: minuteText(min), Required: true}
}

func (p MailSetupPage) version() string {
	return p.Hours.Value("version", strconv.Itoa(p.Quiet.Version))
}
