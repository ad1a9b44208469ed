package letter

import (
	"html/template"
	"regexp"
	"slices"
	"strings"
)

// page fetches nothing: no pictures, no fonts, no styles, so that it is read as the
// reader's program shows plain mail. A long address may break anywhere.
var page = template.Must(template.New("").Parse(`<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width"><meta name="color-scheme" content="light dark"><title>{{.Subject}}</title></head><body>
{{range .Paragraphs}}<p>{{range $i, $line := .}}{{if $i}}<br>
{{end}}{{range $line}}{{if .Link}}<a href="{{.Words}}">{{range .Parts}}{{.}}<wbr>{{end}}</a>{{else}}{{.Words}}{{end}}{{end}}{{end}}</p>
{{end}}</body></html>
`))

// address is one that a mail program would make a link of.
var address = regexp.MustCompile(`https?://[^\s<>"]*[^\s<>".,;:!?)\]]`)

// Run is a piece of a line: words, or an address.
type Run struct {
	Words string
	Link  bool
}

// breaks is after how many characters an address may go on in the next line.
const breaks = 16

// Parts are the words between which a line may break.
func (r Run) Parts() (list []string) {
	for part := range slices.Chunk([]rune(r.Words), breaks) {
		list = append(list, string(part))
	}
	return list
}

func html(subject string, paragraphs [][]string) string {
	data := struct {
		Subject    string
		Paragraphs [][][]Run
	}{subject, linked(paragraphs)}
	var b strings.Builder
	if err := page.Execute(&b, data); err != nil {
		return "" // the text alone says it all
	}
	return b.String()
}

// Shown is what the HTML of a letter with that text shows: its paragraphs, of
// lines.
func Shown(text string) [][][]Run { return linked(paragraphs(lines(text))) }

func linked(paragraphs [][]string) (list [][][]Run) {
	for _, p := range paragraphs {
		var lines [][]Run
		for _, line := range p {
			lines = append(lines, runs(line))
		}
		list = append(list, lines)
	}
	return list
}

// runs parts a line at its addresses.
func runs(line string) (list []Run) {
	last := 0
	for _, at := range address.FindAllStringIndex(line, -1) {
		list = append(list, Run{Words: line[last:at[0]]}, Run{Words: line[at[0]:at[1]], Link: true})
		last = at[1]
	}
	return append(list, Run{Words: line[last:]})
}
