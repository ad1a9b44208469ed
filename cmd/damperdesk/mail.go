package main

import (
	"fmt"
	"net/mail"
	"strconv"
	"strings"

	post "damperdesk/internal/mail"
)

// mailSettings are how the shop's messages go out.
var mailSettings = []setting{
	{
		name: "smtp-host", env: []string{"DAMPERDESK_SMTP_HOST"}, about: "`name` of the mail server; without one messages wait",
		set:  func(c *Config, text string) error { c.Mail.Host = text; return nil },
		show: func(c Config) string { return c.Mail.Host },
	},
	{
		name: "smtp-port", env: []string{"DAMPERDESK_SMTP_PORT"}, about: "its `port`; usually 587, and 465 for tls",
		set: setMailPort,
		show: func(c Config) string {
			if c.Mail.Port == 0 {
				return strconv.Itoa(post.Ports[c.Mail.Security])
			}
			return strconv.Itoa(c.Mail.Port)
		},
	},
	{
		name: "smtp-security", env: []string{"DAMPERDESK_SMTP_SECURITY"}, about: "`way` the line to it is secured: starttls, tls, or none for one on this machine",
		set:  setMailSecurity,
		show: func(c Config) string { return string(c.Mail.Security) },
	},
	{
		name: "smtp-user", env: []string{"DAMPERDESK_SMTP_USER"}, about: "`name` to sign in there; without one nobody signs in",
		set:  func(c *Config, text string) error { c.Mail.User = text; return nil },
		show: func(c Config) string { return c.Mail.User },
	},
	{
		name: "smtp-password", env: []string{"DAMPERDESK_SMTP_PASSWORD"}, secret: true, about: "password for that name",
		set:  func(c *Config, text string) error { c.Mail.Password = text; return nil },
		show: func(c Config) string { return hidden(c.Mail.Password != "") },
	},
	{
		name: "mail-from", env: []string{"DAMPERDESK_MAIL_FROM"}, about: "`address` that messages are from",
		set:  setMailFrom,
		show: func(c Config) string { return c.Mail.From },
	},
}

func setMailPort(c *Config, text string) error {
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > 65535 {
		return fmt.Errorf("%q is no port, such as 587", text)
	}
	c.Mail.Port = n
	return nil
}

func setMailSecurity(c *Config, text string) error {
	security := post.Security(strings.ToLower(text))
	if post.Ports[security] == 0 {
		return fmt.Errorf("%q is none of starttls, tls and none", text)
	}
	c.Mail.Security = security
	return nil
}

// setMailFrom takes an address alone; the shop's name comes from its settings.
func setMailFrom(c *Config, text string) error {
	a, err := mail.ParseAddress(text)
	if err != nil || a.Name != "" {
		return fmt.Errorf("%q is no address, such as desk@example.com", text)
	}
	c.Mail.From = a.Address
	return nil
}

// checkMail is what the settings of mail have against each other.
func (c Config) checkMail() []string {
	if err := c.Mail.Check(); err != nil {
		return []string{"DAMPERDESK_SMTP_HOST: " + err.Error()}
	}
	return nil
}
