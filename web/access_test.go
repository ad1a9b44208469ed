package web

import (
	"bytes"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
)

func TestAPanicIsAnErrorPageWithItsIDInTheLog(t *testing.T) {
	var log bytes.Buffer
	a := &App{
		Config:   Config{Log: slog.New(slog.NewTextHandler(&log, nil)), Now: func() time.Time { return dbtest.Now }},
		sessions: newSessions(nil, ""),
	}
	h := a.page(route{row: row{"GET", "/broken", open, func(*App, http.ResponseWriter, *http.Request) error { panic("secret detail") }}})
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, httptest.NewRequest("GET", "/broken", nil))
	if rec.Code != http.StatusInternalServerError || strings.Contains(rec.Body.String(), "secret detail") {
		t.Errorf("status %d, page %q; want 500 without the detail", rec.Code, rec.Body)
	}
	if !strings.Contains(log.String(), "secret detail") || !strings.Contains(log.String(), "error_id=") {
		t.Errorf("the log has no detail and id: %q", log.String())
	}
}
