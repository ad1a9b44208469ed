// Package mailtest is a mail server on this machine for tests: another's
// implementation of SMTP, which keeps what it is given.
package mailtest

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"io"
	"math/big"
	"net"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"
)

// The name and password the server knows.
const (
	User     = "desk"
	Password = "a pass-phrase of mail"
)

// ErrCut cuts the connection without a reply.
var ErrCut = errors.New("cut")

// Stage is where a message is.
type Stage string

// The stages: Rcpt names the address, Begun has read a part of the text, and
// Whole has read all of it, the last dot included.
const (
	Rcpt  Stage = "rcpt"
	Begun Stage = "begun"
	Whole Stage = "whole"
)

// Settings is what the server does.
type Settings struct {
	TLS      bool // from the first byte
	StartTLS bool // offered
	Auth     bool // wanted
	// At may refuse at a stage, by an *smtp.SMTPError, or cut the line. What is
	// cut once it is whole was received.
	At func(stage Stage, to string) error
}

// Received is a message that the server has taken.
type Received struct{ From, To, Data, User string }

// Server is running.
type Server struct {
	Host  string
	Port  int
	Roots *x509.CertPool // know its certificate

	settings Settings
	mu       sync.Mutex
	got      []Received
}

// Start runs one until the test ends.
func Start(t testing.TB, settings Settings) *Server {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s := &Server{Host: "127.0.0.1", Port: l.Addr().(*net.TCPAddr).Port, settings: settings}
	server := smtp.NewServer(smtp.BackendFunc(func(c *smtp.Conn) (smtp.Session, error) { return &session{server: s, conn: c}, nil }))
	server.Domain = "mail.test"
	server.AllowInsecureAuth = settings.Auth
	server.ReadTimeout, server.WriteTimeout = time.Minute, time.Minute
	server.ErrorLog = discard{}
	if settings.TLS || settings.StartTLS {
		cert := certificate(t)
		s.Roots = x509.NewCertPool()
		s.Roots.AddCert(cert.Leaf)
		server.TLSConfig = &tls.Config{Certificates: []tls.Certificate{cert}}
	}
	if settings.TLS {
		l = tls.NewListener(l, server.TLSConfig)
		server.TLSConfig = nil
	}
	go server.Serve(l)
	t.Cleanup(func() { server.Close() })
	return s
}

// Received is what it has taken so far.
func (s *Server) Received() []Received {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.got)
}

type discard struct{}

func (discard) Printf(string, ...any) {}
func (discard) Println(...any)        {}

// certificate is one that signs itself, for this machine.
func certificate(t testing.TB) tls.Certificate {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	about := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "mail.test"}, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(24 * time.Hour), IsCA: true, BasicConstraintsValid: true}
	der, err := x509.CreateCertificate(rand.Reader, about, about, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key, Leaf: leaf}
}

type session struct {
	server *Server
	conn   *smtp.Conn
	user   string
	from   string
	to     string
}

func (s *session) AuthMechanisms() []string {
	if !s.server.settings.Auth {
		return nil
	}
	return []string{sasl.Plain}
}

func (s *session) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, user, password string) error {
		if user != User || password != Password {
			return smtp.ErrAuthFailed
		}
		s.user = user
		return nil
	}), nil
}

func (s *session) at(stage Stage) error {
	if s.server.settings.At == nil {
		return nil
	}
	err := s.server.settings.At(stage, s.to)
	if errors.Is(err, ErrCut) {
		s.conn.Conn().Close()
	}
	return err
}

func (s *session) Mail(from string, _ *smtp.MailOptions) error {
	if s.server.settings.Auth && s.user == "" {
		return smtp.ErrAuthRequired
	}
	s.from = from
	return nil
}

func (s *session) Rcpt(to string, _ *smtp.RcptOptions) error {
	s.to = to
	return s.at(Rcpt)
}

func (s *session) Data(r io.Reader) error {
	first := make([]byte, 16)
	n, err := io.ReadFull(r, first)
	if err != nil {
		return err
	}
	if err := s.at(Begun); err != nil {
		return err
	}
	rest, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	err = s.at(Whole)
	if err == nil || errors.Is(err, ErrCut) {
		s.server.mu.Lock()
		defer s.server.mu.Unlock()
		s.server.got = append(s.server.got, Received{From: s.from, To: s.to, Data: string(first[:n]) + string(rest), User: s.user})
	}
	return err
}

func (*session) Reset()        {}
func (*session) Logout() error { return nil }
