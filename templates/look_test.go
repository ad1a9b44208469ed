package templates

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestTheLookHasNoClassWithoutUse keeps the stylesheet to what pages use.
func TestTheLookHasNoClassWithoutUse(t *testing.T) {
	look, err := os.ReadFile("../static/look.css")
	if err != nil {
		t.Fatal(err)
	}
	used := map[string]bool{}
	word := regexp.MustCompile(`[a-z][a-z-]*`)
	for _, pattern := range []string{"*.templ", "*.go", "../static/*.js"} {
		files, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, file := range files {
			if strings.HasSuffix(file, "_templ.go") || strings.HasSuffix(file, "_test.go") {
				continue
			}
			source, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			for _, w := range word.FindAllString(string(source), -1) {
				used[w] = true
			}
		}
	}
	rules := regexp.MustCompile(`(?s)/\*.*?\*/`).ReplaceAllString(string(look), "")
	for _, selector := range regexp.MustCompile(`[^{};]*\{`).FindAllString(rules, -1) {
		for _, class := range regexp.MustCompile(`\.([a-z][a-z-]*)`).FindAllStringSubmatch(selector, -1) {
			name := class[1]
			if strings.HasPrefix(name, "of-") { // by the code of a symptom
				name = "of-"
			}
			if !used[name] {
				t.Errorf("no page has the class %q", class[1])
			}
		}
	}
}
