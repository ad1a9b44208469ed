package templates

import (
	"os"
	"path/filepath"
	"regexp"
	"testing"
)

// The content security policy has no source for inline styles and handlers, and
// templ's own style and script blocks write both.
var banned = map[string]*regexp.Regexp{
	"a style attribute":   regexp.MustCompile(`(?i)[\s"{]style\??=`),
	"a style spread":      regexp.MustCompile(`"style":`),
	"an event handler":    regexp.MustCompile(`(?i)\son[a-z]+\??=|"on[a-z]+":`),
	"a css block":         regexp.MustCompile(`(?m)^css\s`),
	"a script block":      regexp.MustCompile(`(?m)^script\s`),
	"a style element":     regexp.MustCompile(`(?i)<style`),
	"an inline script":    regexp.MustCompile(`(?i)<script(?:[^>](?:[^s]|s[^r]|sr[^c])*)?>[^<]`),
	"raw HTML":            regexp.MustCompile(`templ\.Raw`),
	"a javascript: link":  regexp.MustCompile(`(?i)javascript:`),
	"another host's file": regexp.MustCompile(`(?i)(?:src|href)="(?:https?:)?//`),
}

func TestTemplatesHaveNothingInline(t *testing.T) {
	paths, err := filepath.Glob("*.templ")
	if err != nil || len(paths) == 0 {
		t.Fatalf("no templates found: %v", err)
	}
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for what, pattern := range banned {
			if at := pattern.FindIndex(text); at != nil {
				t.Errorf("%s has %s: %q", path, what, text[at[0]:min(at[1]+20, len(text))])
			}
		}
	}
}

func TestTheBanSeesWhatItBans(t *testing.T) {
	for what, sample := range map[string]string{
		"a style attribute":   `<p style={ x }>`,
		"a style spread":      `templ.Attributes{"style": "x"}`,
		"an event handler":    `<button onclick="x()">`,
		"a css block":         "\ncss red() {\n",
		"a script block":      "\nscript go() {\n",
		"a style element":     `<style>`,
		"an inline script":    `<script>go()</script>`,
		"raw HTML":            `@templ.Raw(x)`,
		"a javascript: link":  `<a href="javascript:go()">`,
		"another host's file": `<script src="//example.com/x.js">`,
	} {
		if !banned[what].MatchString(sample) {
			t.Errorf("%s is not found in %q", what, sample)
		}
	}
}
