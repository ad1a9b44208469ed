package templates

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"golang.org/x/net/html"
)

// alsoRead are templates in other files that customers read too.
var alsoRead = map[string][]string{
	"layout_templ.go":   {"page", "head", "PrintLayout"},
	"picture_templ.go":  {"thumbnail", "MissingPicture"},
	"estimate_templ.go": {"estimateTable"},
	"error_templ.go":    {"Error"},
	"problem_templ.go":  {"problem"},
	"field_templ.go":    {"IntentField", "FieldError", "Input", "Select", "Picks", "pick", "group", "fieldLabel", "fieldNotes"},
	"part_templ.go":     {"State", "PrintButton", "Told"},
}

// What customers read has one place to be translated: the files customer_*text.go. So no
// word of a language stands in their templates, neither as HTML nor in an expression, nor
// in the Go beside them.
func TestCustomersReadNothingThatStandsElsewhere(t *testing.T) {
	files, err := filepath.Glob("customer*.go")
	if err != nil || len(files) < 10 {
		t.Fatalf("%d files of the customer's pages: %v", len(files), err)
	}
	for _, name := range files {
		if !strings.HasSuffix(name, "_text.go") && !strings.HasSuffix(name, "_test.go") {
			noWords(t, name, nil)
		}
	}
	for name, functions := range alsoRead {
		noWords(t, name, functions)
	}
}

// The test above finds words where there are some.
func TestWordsThatStandElsewhereAreFound(t *testing.T) {
	if got := htmlWords(`<p class="two words" aria-label="Where it is"><b></b> paid <img alt="A fork"></p>`); !slices.Equal(got, []string{"Where it is", "paid", "A fork"}) {
		t.Errorf("found %q", got)
	}
	src := `package x
import "strings"
func f(stage string) string {
	if stage == "final check" { return "one-of" + "Ticket 12" + strings.Repeat("so far", 1) }
	switch stage { case "on the bench": }
	return "#due-1"
}`
	file, err := parser.ParseFile(token.NewFileSet(), "x.go", src, 0)
	if err != nil {
		t.Fatal(err)
	}
	if got := goWords(file); !slices.Equal(got, []string{"Ticket 12", "so far"}) {
		t.Errorf("found %q", got)
	}
}

// noWords reads a file, or some functions of it.
func noWords(t *testing.T, name string, only []string) {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, d := range file.Decls {
		f, ok := d.(*ast.FuncDecl)
		if ok && only != nil && !slices.Contains(only, f.Name.Name) || !ok && only != nil {
			continue
		}
		seen++
		for _, words := range slices.Concat(htmlWords(written(d)), goWords(d)) {
			t.Errorf("%s: customers read %q, which stands in no file of their texts", name, words)
		}
	}
	if seen == 0 || len(only) > seen {
		t.Errorf("%s: %d of %v are there", name, seen, only)
	}
}

// writes says whether a call of generated code writes HTML as it stands in a template.
func writes(n ast.Node) (text string, ok bool) {
	call, _ := n.(*ast.CallExpr)
	if call == nil {
		return "", false
	}
	if f, _ := call.Fun.(*ast.SelectorExpr); f == nil || f.Sel.Name != "WriteString" {
		return "", false
	}
	lit, _ := call.Args[len(call.Args)-1].(*ast.BasicLit)
	return unquoted(lit), lit != nil
}

// written is the HTML of a template, without what is filled in.
func written(d ast.Node) string {
	var b strings.Builder
	ast.Inspect(d, func(n ast.Node) bool {
		text, _ := writes(n)
		b.WriteString(text)
		return true
	})
	return b.String()
}

// htmlWords are the texts within HTML, and those of attributes that are read out. The
// name of the program is no word.
func htmlWords(source string) (words []string) {
	add := func(text string) {
		if text = strings.TrimSpace(strings.ReplaceAll(text, "Damperdesk", "")); strings.ContainsFunc(text, unicode.IsLetter) {
			words = append(words, text)
		}
	}
	for z := html.NewTokenizer(strings.NewReader(source)); z.Next() != html.ErrorToken; {
		tok := z.Token()
		if tok.Type == html.TextToken {
			add(tok.Data)
		}
		for _, a := range tok.Attr {
			if slices.Contains([]string{"aria-label", "alt", "title", "placeholder"}, a.Key) {
				add(a.Val)
			}
		}
	}
	return words
}

// goWords are the strings that look like words: a capital letter, or a space between
// letters. What is compared with is a code.
func goWords(d ast.Node) (words []string) {
	ast.Inspect(d, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.ImportSpec, *ast.CaseClause:
			if c, ok := n.(*ast.CaseClause); ok {
				for _, s := range c.Body {
					words = append(words, goWords(s)...)
				}
			}
			return false
		case *ast.BinaryExpr:
			if n.Op == token.EQL || n.Op == token.NEQ {
				return false
			}
		case *ast.CallExpr:
			if _, ok := writes(n); ok {
				return false
			}
		case *ast.CompositeLit: // where an error of a template is, as generated
			if f, _ := n.Type.(*ast.SelectorExpr); f != nil && f.Sel.Name == "Error" {
				return false
			}
		case *ast.BasicLit:
			text := unquoted(n)
			if n.Kind == token.STRING && (strings.ContainsFunc(text, unicode.IsUpper) || strings.Contains(strings.TrimSpace(text), " ")) {
				words = append(words, text)
			}
		}
		return true
	})
	return words
}

func unquoted(lit *ast.BasicLit) string {
	if lit == nil {
		return ""
	}
	text, err := strconv.Unquote(lit.Value)
	if err != nil {
		return ""
	}
	return text
}
