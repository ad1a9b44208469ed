package web

import (
	"context"
	"net/http"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/message"
	"damperdesk/templates"
)

// setupDone is what the page says after its forms.
var setupDone = map[string]string{
	"hours": "The quiet hours are kept.",
	"test":  "The test message is on its way. How it went stands below.",
}

func (a *App) mailSetup(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = setupDone[r.URL.Query().Get("done")]
		return a.mailSetupPage(r.Context(), base, "")
	})
}

// mailSetupPage shows what was typed in the form that was sent, if any.
func (a *App) mailSetupPage(ctx context.Context, base templates.Base, sent string) (templ.Component, error) {
	base.Title, base.Live = "How mail is sent", templates.LiveMessages
	page := templates.MailSetupPage{Base: base, Mail: a.Mail, Links: a.mailLinks(), Given: a.BaseURL != "",
		Hours: base.Alone(uuid.NewString(), sent == "hours"), Test: base.Alone(uuid.NewString(), sent == "test")}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Quiet, err = message.GetQuiet(ctx, tx); err != nil {
			return err
		}
		last, ok, err := message.LastTest(ctx, tx)
		if ok {
			page.Last = &last
		}
		return err
	})
	return templates.MailSetup(page), err
}

func (a *App) mailLinks() string {
	if a.MailLinks == "" {
		return a.BaseURL
	}
	return a.MailLinks
}

func (a *App) setQuiet(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	hours := message.Quiet{FromMin: f.minute("from"), UntilMin: f.minute("until"), Version: int(f.number("version"))}
	return a.take(w, r, f, "quiet hours", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return "/messages/setup?done=hours", message.SetQuiet(ctx, tx, by, hours)
	}, func(base templates.Base) (templ.Component, error) { return a.mailSetupPage(r.Context(), base, "hours") })
}

// minute reads the value of a time field in minutes of the day.
func (f *form) minute(name string) int {
	for _, layout := range []string{"15:04", "15:04:05"} {
		if at, err := time.Parse(layout, f.text(name)); err == nil {
			return at.Hour()*60 + at.Minute()
		}
	}
	f.wrong(name, "Say a time of the day, such as 20:00.")
	return 0
}

// sendTest has a test message sent in the background.
func (a *App) sendTest(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	if !a.Mail.Set() {
		f.wrong("to", "No mail server is set, so nothing can be sent.")
	}
	return a.take(w, r, f, "test message", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		if _, err := message.PostTest(ctx, tx, by, f.text("to")); err != nil {
			return "", err
		}
		return "/messages/setup?done=test", a.sendMail(ctx, tx)
	}, func(base templates.Base) (templ.Component, error) { return a.mailSetupPage(r.Context(), base, "test") })
}

func quietStands(ctx context.Context, q db.Querier, _ templates.Base) (string, error) {
	hours, err := message.GetQuiet(ctx, q)
	return templates.QuietWords(hours), err
}
