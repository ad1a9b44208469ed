// Package mail hands one message at a time over to the shop's mail server. It
// knows nothing of who it is for. What it must never do is send twice, so it
// says of every failure whether the message may have been sent.
package mail

import (
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"net/mail"
	"net/netip"
	"os"
	"strings"
	"time"
)

// Security is how the line to the mail server is kept from others.
type Security string

// The securities. Plain is for a server on the same machine alone.
const (
	StartTLS Security = "starttls" // by the command STARTTLS, which has to be there
	TLS      Security = "tls"      // from the first byte
	Plain    Security = "none"
)

// Ports are those that are usual: RFC 8314, and RFC 5321 for a plain one.
var Ports = map[Security]int{StartTLS: 587, TLS: 465, Plain: 25}

// Server is the shop's mail server, and whom its messages are from.
type Server struct {
	Host     string // empty: nothing is sent
	Port     int    // 0: the usual one
	Security Security
	User     string // empty: nobody signs in
	Password string
	From     string // the address
	// Patience is how long each answer may take; 0 for a minute.
	Patience time.Duration

	roots *x509.CertPool // nil: those of the machine
}

// Set reports whether there is one.
func (s Server) Set() bool { return s.Host != "" }

// Address is where it is.
func (s Server) Address() string { return net.JoinHostPort(s.Host, fmt.Sprint(s.port())) }

func (s Server) port() int {
	if s.Port != 0 {
		return s.Port
	}
	return Ports[s.Security]
}

// Check is what keeps messages from being sent as it is set, in a sentence.
func (s Server) Check() error {
	_, err := mail.ParseAddress(s.From)
	switch {
	case !s.Set():
		return nil
	case s.From == "":
		return errors.New("a mail server is set, but no address that mail is from")
	case err != nil:
		return fmt.Errorf("%q is no address", s.From)
	case Ports[s.Security] == 0:
		return fmt.Errorf("%q is none of starttls, tls and none", s.Security)
	case s.User == "" && s.Password != "":
		return errors.New("there is a password for the mail server, but no user")
	case s.Security == Plain && s.User != "":
		return errors.New("a password does not go over an open line: use starttls or tls, or set no user")
	case s.Security == Plain && !here(s.Host):
		return errors.New("an open line is for a mail server on this machine alone: use starttls or tls")
	}
	return nil
}

// here reports whether the host is this machine by its name or address.
func here(host string) bool {
	if addr, err := netip.ParseAddr(host); err == nil {
		return addr.IsLoopback()
	}
	name, err := os.Hostname()
	return strings.EqualFold(host, "localhost") || err == nil && strings.EqualFold(host, name)
}

// domain is that of the address mail is from.
func (s Server) domain() string {
	a, err := mail.ParseAddress(s.From)
	if err != nil {
		return "localhost"
	}
	return a.Address[strings.LastIndexByte(a.Address, '@')+1:]
}

// helloName is how this machine names itself; RFC 5321 wants some name.
func helloName() string {
	name, err := os.Hostname()
	if err != nil || name == "" || strings.ContainsFunc(name, func(r rune) bool { return r <= ' ' || r > '~' }) {
		return "localhost"
	}
	return name
}
