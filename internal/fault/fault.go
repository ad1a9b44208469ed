// Package fault has the few kinds of error that a person is shown. Their text
// is one safe sentence; anything else is an internal error and stays in the log.
package fault

import (
	"errors"
	"maps"
	"slices"
	"strings"
)

// Invalid says which fields of a form cannot be taken as they are.
type Invalid struct {
	// Fields maps a form field's name to the sentence shown beside it.
	Fields map[string]string
}

func (e *Invalid) Error() string {
	lines := make([]string, 0, len(e.Fields))
	for _, name := range slices.Sorted(maps.Keys(e.Fields)) {
		lines = append(lines, name+": "+e.Fields[name])
	}
	return strings.Join(lines, "; ")
}

// Field is an Invalid about one field.
func Field(name, sentence string) error {
	return &Invalid{Fields: map[string]string{name: sentence}}
}

// NotFound, Conflict and Forbidden hold the sentence a person reads.
type (
	NotFound  string
	Conflict  string
	Forbidden string
)

func (e NotFound) Error() string  { return string(e) }
func (e Conflict) Error() string  { return string(e) }
func (e Forbidden) Error() string { return string(e) }

// Sentence is what a person may read of err, and whether err is of a kind
// made for people at all.
func Sentence(err error) (string, bool) {
	var (
		invalid   *Invalid
		notFound  NotFound
		conflict  Conflict
		forbidden Forbidden
	)
	switch {
	case errors.As(err, &invalid):
		return invalid.Error(), true
	case errors.As(err, &notFound):
		return notFound.Error(), true
	case errors.As(err, &conflict):
		return conflict.Error(), true
	case errors.As(err, &forbidden):
		return forbidden.Error(), true
	}
	return "", false
}
