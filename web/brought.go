package web

import (
	"crypto/sha256"
	"fmt"
	"io"
	"net/http"

	"damperdesk/internal/spec"
)

// brought is a form with a file, and the file's name and content. Another file
// is another act.
func brought(r *http.Request) (f *form, name string, content []byte, err error) {
	if err := readBody(r); err != nil {
		return nil, "", nil, err
	}
	if f, err = readForm(r); err != nil {
		return nil, "", nil, err
	}
	if name, content, err = fileOf(r, "file"); err != nil {
		return nil, "", nil, err
	}
	if name == "" {
		f.wrong("file", "Choose the file.")
	}
	f.values.Set("content", fmt.Sprintf("%x", sha256.Sum256(content)))
	return f, name, content, nil
}

// fileOf is the name and the content of a file that came with a form, no name
// without one.
func fileOf(r *http.Request, field string) (name string, content []byte, err error) {
	if r.MultipartForm == nil || len(r.MultipartForm.File[field]) == 0 {
		return "", nil, nil
	}
	header := r.MultipartForm.File[field][0]
	file, err := header.Open()
	if err != nil {
		return "", nil, err
	}
	defer file.Close()
	content, err = io.ReadAll(io.LimitReader(file, spec.MostFile+1))
	return header.Filename, content, err
}
