package letter

import (
	"html/template"
	"regexp"
	"strings"
)

// page fetches nothing: no pictures, no fonts, no styles.
var page = template.Must(template.New("").Parse(`<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>{{.Subject}}</title></head><body>
{{range .Paragraphs}}<p>{{range $i, $line := .}}{{if $i}}<br>
{{end}}{{range $line}}{{if .Link}}<a href="{{.Words}}">{{.Words}}</a>{{else}}{{.Words}}{{end}}{{end}}{{end}}</p>
{{end}}</body></html>
`))

// address is one that a mail program would make a link of.
var address = regexp.MustCompile(`https?://[^\s<>"]*[^\s<>".,;:!?)\]]`)

type run struct {
	Words string
	Link  bool
}

func html(subject string, paragraphs [][]string) string {
	data := struct {
		Subject    string
		Paragraphs [][][]run
	}{Subject: subject}
	for _, p := range paragraphs {
		var lines [][]run
		for _, line := range p {
			lines = append(lines, runs(line))
		}
		data.Paragraphs = append(data.Paragraphs, lines)
	}
	var b strings.Builder
	if err := page.Execute(&b, data); err != nil {
		return "" // the text alone says it all
	}
	return b.String()
}

// runs parts a line at its addresses.
func runs(line string) (list []run) {
	last := 0
	for _, at := range address.FindAllStringIndex(line, -1) {
		list = append(list, run{Words: line[last:at[0]]}, run{Words: line[at[0]:at[1]], Link: true})
		last = at[1]
	}
	return append(list, run{Words: line[last:]})
}
