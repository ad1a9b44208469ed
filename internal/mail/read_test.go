package mail

import (
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net/mail"
	"strings"
	"testing"
)

var decoder = new(mime.WordDecoder)

// wantAlternatives: RFC 2046 5.1.4 puts the plainest first.
func wantAlternatives(t *testing.T, m *mail.Message) {
	t.Helper()
	kind, params, err := mime.ParseMediaType(m.Header.Get("Content-Type"))
	if err != nil || kind != "multipart/alternative" {
		t.Fatalf("%s, %v", kind, err)
	}
	parts := multipart.NewReader(m.Body, params["boundary"])
	for _, want := range []struct{ kind, words string }{{"text/plain", letter.Text}, {"text/html", letter.HTML}} {
		p, err := parts.NextRawPart()
		if err != nil {
			t.Fatal(err)
		}
		kind, params, err := mime.ParseMediaType(p.Header.Get("Content-Type"))
		if err != nil || kind != want.kind || !strings.EqualFold(params["charset"], "utf-8") {
			t.Errorf("%s %v, %v; want %s", kind, params, err, want.kind)
		}
		if got := p.Header.Get("Content-Transfer-Encoding"); got != "quoted-printable" {
			t.Fatalf("encoded by %q", got)
		}
		text, err := io.ReadAll(quotedprintable.NewReader(p))
		if got := strings.ReplaceAll(string(text), "\r\n", "\n"); err != nil || strings.TrimSpace(got) != strings.TrimSpace(want.words) {
			t.Errorf("%q, %v; want %q", got, err, want.words)
		}
	}
	if _, err := parts.NextRawPart(); err != io.EOF {
		t.Errorf("there is more: %v", err)
	}
}
