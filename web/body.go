package web

import (
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"damperdesk/internal/fault"
	"damperdesk/internal/picture"
)

const (
	// maxBody is the most a form may hold.
	maxBody = 1 << 20
	// maxPictures is the most a form with pictures may hold. It stays in memory,
	// for there may be no folder for what does not.
	maxPictures = 2*picture.MostBytes + maxBody
	// pageTime is how long a request may take, all in all.
	pageTime = 10 * time.Second
	// pictureTime is the same for one that brings pictures over patchy Wi-Fi.
	pictureTime = 90 * time.Second
)

func bringsFiles(r *http.Request) bool {
	return strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/form-data")
}

// mostOf is the most that is read of a request. Whoever works here sends
// pictures, and the owner a library.
func mostOf(r *http.Request) int64 {
	if roles := person(r).Roles; bringsFiles(r) && len(roles) > 0 {
		return maxPictures
	}
	return maxBody
}

func timeFor(r *http.Request) time.Duration {
	if bringsFiles(r) {
		return pictureTime
	}
	return pageTime
}

// giveTime lifts the server's limits, which are for pages, where a form may
// bring pictures.
func giveTime(w http.ResponseWriter, r *http.Request) {
	if mostOf(r) == maxBody {
		return
	}
	out := http.NewResponseController(w)
	out.SetReadDeadline(time.Now().Add(pictureTime))
	out.SetWriteDeadline(time.Now().Add(pictureTime + pageTime))
}

// readBody reads a form of either kind, so that its fields are in r.PostForm.
func readBody(r *http.Request) error {
	if !bringsFiles(r) {
		return readFields(r)
	}
	return unread(r.ParseMultipartForm(maxPictures))
}

// readFields reads a form that brings no files, and the fields of the address.
func readFields(r *http.Request) error { return unread(r.ParseForm()) }

// unread is what people read of a form that could not be read: whoever sent it can
// put that right, unless it was too much.
func unread(err error) error {
	if err == nil || errors.As(err, new(*http.MaxBytesError)) {
		return err
	}
	return fmt.Errorf("%w: %w", fault.Conflict("What was sent did not arrive whole. Send it again."), err)
}

func tooLargeWords(r *http.Request) string {
	if !bringsFiles(r) {
		return "That is more than a form may hold."
	}
	return fmt.Sprintf("That is more than can be sent at once. A picture may have %d MB, and all of them together %d MB: send them one by one.",
		picture.MostBytes>>20, (maxPictures-maxBody)>>20)
}
