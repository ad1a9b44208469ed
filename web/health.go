package web

import (
	"fmt"
	"io"
	"net/http"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
)

// healthz says that the process answers.
func (a *App) healthz(w http.ResponseWriter, _ *http.Request) error {
	_, err := io.WriteString(w, "ok\n")
	return err
}

// readyz says that the database answers and has the schema of this program.
func (a *App) readyz(w http.ResponseWriter, r *http.Request) error {
	have, want, err := db.Versions(r.Context(), a.pool)
	if err != nil {
		return fmt.Errorf("not ready: %w", err)
	}
	if have < want {
		return fault.Conflict(fmt.Sprintf("The database has schema %d, this program needs %d.", have, want))
	}
	_, err = io.WriteString(w, "ready\n")
	return err
}
