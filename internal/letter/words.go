// Package letter writes what customers are told: it gathers what a message is
// about and puts it into the shop's words for its kind, as plain text and as
// HTML that says the same.
package letter

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"damperdesk/internal/message"
)

// Words are what is said in messages of a kind, with fields in braces.
type Words struct{ Subject, Body string }

const (
	mostSubject = 150   // characters
	mostBody    = 5_000 // characters
)

// part is a piece of a line: words, or else a field.
type part struct {
	words string
	field string // empty: words
}

// split parts a line at its fields. A name is read in any case and with any
// spaces.
func split(line string) (list []part, fault string) {
	for line != "" {
		at := strings.IndexAny(line, "{}")
		if at < 0 {
			return append(list, part{words: line}), ""
		}
		if at > 0 {
			list = append(list, part{words: line[:at]})
		}
		end := strings.IndexAny(line[at+1:], "{}")
		if line[at] == '}' || end < 0 || line[at+1+end] == '{' {
			return nil, "A brace begins or ends a field, such as {first name}: one has no other in its line."
		}
		list = append(list, part{field: name(line[at+1 : at+1+end])})
		line = line[at+end+2:]
	}
	return list, ""
}

func name(s string) string {
	s = strings.Join(strings.Fields(strings.ToLower(s)), " ")
	if s == "" {
		return " " // a field without a name is still one
	}
	return s
}

// lines are the body as it is typed, whatever ends its lines.
func lines(body string) []string {
	return strings.Split(strings.ReplaceAll(strings.ReplaceAll(body, "\r\n", "\n"), "\r", "\n"), "\n")
}

// Check says by field, subject and body, what cannot stand in messages of a
// kind: a field that is misspelt or of another kind, and one that may be empty
// anywhere but alone in its line, which is then left out.
func (w Words) Check(kind message.Kind) map[string]string {
	wrong := map[string]string{}
	refuse := func(field, sentence string) {
		if sentence != "" && wrong[field] == "" {
			wrong[field] = sentence
		}
	}
	if strings.TrimSpace(w.Subject) == "" {
		refuse("subject", "Say what it is about.")
	}
	if strings.TrimSpace(w.Body) == "" {
		refuse("body", "Say what the customer is to read.")
	}
	if strings.ContainsAny(w.Subject, "\r\n") {
		refuse("subject", "Keep it in one line.")
	}
	if utf8.RuneCountInString(w.Subject) > mostSubject {
		refuse("subject", fmt.Sprintf("Keep it under %d characters.", mostSubject))
	}
	if utf8.RuneCountInString(w.Body) > mostBody {
		refuse("body", fmt.Sprintf("Keep it under %d characters.", mostBody))
	}
	refuse("subject", checkLine(kind, w.Subject, true))
	for _, line := range lines(w.Body) {
		refuse("body", checkLine(kind, line, false))
	}
	return wrong
}

func checkLine(kind message.Kind, line string, subject bool) string {
	parts, fault := split(line)
	if fault != "" {
		return fault
	}
	parts = slices.DeleteFunc(parts, func(p part) bool { return p.field == "" })
	for _, p := range parts {
		f, known := FieldOf(p.field)
		switch {
		case !known:
			return "There is no field {" + strings.TrimSpace(p.field) + "}: choose one of those listed."
		case !slices.Contains(f.Kinds, kind):
			return "Messages of this kind have no {" + f.Name + "}: choose one of those listed."
		case subject && f.Lines:
			return "{" + f.Name + "} may have several lines: it has no place in the subject."
		case subject && f.Empty:
			return "{" + f.Name + "} may be empty: it has no place in the subject."
		case f.Empty && len(parts) > 1:
			return "{" + f.Name + "} may be empty: give it a line of its own, without another field, which is then left out."
		}
	}
	return ""
}

// fill puts values into a line; kept is false where its only field is empty.
// What no field of ours means stays as it is typed.
func fill(line string, values map[string]string) (text string, kept bool) {
	parts, fault := split(line)
	if fault != "" {
		return line, true
	}
	fields, empty := 0, 0
	var b strings.Builder
	for _, p := range parts {
		if p.field == "" {
			b.WriteString(p.words)
			continue
		}
		fields++
		v, known := values[p.field]
		if !known {
			v = "{" + strings.TrimSpace(p.field) + "}"
		}
		if v == "" {
			empty++
		}
		b.WriteString(v)
	}
	return b.String(), fields == 0 || empty < fields
}

// Render puts values, by the names of fields, into the words.
func (w Words) Render(values map[string]string) message.Letter {
	subject, _ := fill(w.Subject, values)
	var out []string
	for _, line := range lines(w.Body) {
		text, kept := fill(line, values)
		if kept {
			out = append(out, strings.Split(text, "\n")...)
		}
	}
	paragraphs := paragraphs(out)
	text := make([]string, len(paragraphs))
	for i, p := range paragraphs {
		text[i] = strings.Join(p, "\n")
	}
	subject = oneLine(subject)
	return message.Letter{Subject: subject, Text: strings.Join(text, "\n\n") + "\n", HTML: html(subject, paragraphs)}
}

// paragraphs are the lines between blank ones.
func paragraphs(lines []string) (list [][]string) {
	open := false
	for _, line := range lines {
		line = strings.TrimRight(oneLine(line), " ")
		switch {
		case line == "":
			open = false
		case open:
			list[len(list)-1] = append(list[len(list)-1], line)
		default:
			list, open = append(list, []string{line}), true
		}
	}
	return list
}

// oneLine leaves out what would end a line of a mail's head or hide in text.
func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == '\u2028' || r == '\u2029' || r == utf8.RuneError {
			return ' '
		}
		return r
	}, s)
}
