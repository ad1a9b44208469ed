package web

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"maps"
	"mime/multipart"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/intent"
	"damperdesk/internal/link"
	"damperdesk/internal/picture"
	"damperdesk/templates"
)

// shot says where in a job a picture belongs; zero is nowhere in particular. With
// a draft it is of a unit that is being taken in, and of no job yet.
type shot struct {
	job, step, finding int64
	draft              uuid.UUID
}

// keepPictures stores the pictures that came with a form, before its act, so
// that none is lost where that is refused. Each is an act of its own under an id
// that follows from the form's and from the content: sent twice, by the script
// and with the form, it is stored once. A field called "x.file" leaves the ids in
// "x.picture"; what cannot be kept is said beside it.
func (a *App) keepPictures(r *http.Request, f *form, where func(field string) shot) ([]int64, error) {
	var kept []int64
	if r.MultipartForm == nil {
		return nil, nil
	}
	for _, field := range slices.Sorted(maps.Keys(r.MultipartForm.File)) {
		for _, file := range r.MultipartForm.File[field] {
			id, err := a.keepPicture(r, where(field), file)
			if sentence := aboutPicture(err); sentence != "" {
				f.wrong(field, sentence)
				continue
			}
			if err != nil {
				return nil, err
			}
			kept = append(kept, id)
			f.values.Add(strings.TrimSuffix(field, "file")+"picture", strconv.FormatInt(id, 10))
		}
	}
	return kept, nil
}

// aboutPicture is what is wrong with a picture, for beside its field; empty for
// nothing, and for what is no refusal of a picture.
func aboutPicture(err error) string {
	var invalid *fault.Invalid
	if errors.As(err, &invalid) {
		return invalid.Fields["picture"]
	}
	return ""
}

func (a *App) keepPicture(r *http.Request, at shot, file *multipart.FileHeader) (int64, error) {
	form, err := uuid.Parse(r.PostForm.Get("intent"))
	if err != nil {
		return 0, fault.Conflict("The page was too old to send; open it again.")
	}
	data, err := content(file)
	if err != nil {
		return 0, err
	}
	made, err := a.Pictures.Make(r.Context(), data)
	if err != nil {
		return 0, err
	}
	sum := sha256.Sum256(data)
	who, device := person(r), tablet(r).ID
	by := history.By{At: a.Now().UTC(), Staff: who.ID, Roles: who.Roles, Device: device, Intent: uuid.NewSHA1(form, sum[:])}
	act := intent.Act{ID: by.Intent, Kind: "picture taken", Actor: who.ID, Device: device, Fingerprint: fmt.Appendf(sum[:], "%+v", at), At: by.At}
	answer, err := intent.Do(r.Context(), a.pool, act, func(tx pgx.Tx) (string, error) {
		id, err := a.addPicture(r.Context(), tx, by, at, made)
		return strconv.FormatInt(id, 10), err
	})
	if err != nil {
		return 0, err
	}
	return strconv.ParseInt(answer, 10, 64)
}

func (a *App) addPicture(ctx context.Context, tx pgx.Tx, by history.By, at shot, made picture.Made) (int64, error) {
	if at.draft != uuid.Nil {
		return picture.Wait(ctx, tx, by, a.Pictures, at.draft, made)
	}
	var step *int64
	if at.step != 0 {
		step = &at.step
	}
	id, err := picture.Add(ctx, tx, by, a.Pictures, at.job, step, made)
	if err != nil || at.finding == 0 {
		return id, err
	}
	return id, bench.AddPicture(ctx, tx, by, at.job, at.finding, id)
}

// content reads what was sent, no more than a picture may have.
func content(file *multipart.FileHeader) ([]byte, error) {
	if file.Size > picture.MostBytes {
		return nil, picture.ErrTooLarge
	}
	open, err := file.Open()
	if err != nil {
		return nil, err
	}
	defer open.Close()
	return io.ReadAll(open)
}

// addPictures keeps pictures apart from any other form. To the script, which
// names a part of its page, it answers with what goes there.
func (a *App) addPictures(w http.ResponseWriter, r *http.Request) error {
	jobID, err := a.id(r, "job")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	at := shot{job: jobID, step: f.number("step"), finding: f.number("finding")}
	kept, err := a.keepPictures(r, f, func(string) shot { return at })
	if err != nil {
		return err
	}
	if len(kept) == 0 && len(f.faults) == 0 {
		f.wrong("file", "Take or choose a picture first.")
	}
	if f.values.Has("part") {
		return a.keptPart(w, r, f, kept, picture.Get, templates.JobPicture)
	}
	if err := f.err(); err != nil {
		return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) {
			return a.sheetPage(r.Context(), base, jobID, "picture")
		})
	}
	http.Redirect(w, r, benchPath(jobID)+"#pictures", http.StatusSeeOther)
	return nil
}

// picturesAsItCame keeps pictures of a unit as it came, from the page of its job.
func (a *App) picturesAsItCame(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	kept, err := a.keepPictures(r, f, func(string) shot { return shot{job: id} })
	if err != nil {
		return err
	}
	if len(kept) == 0 && len(f.faults) == 0 {
		f.wrong("file", "Take or choose a picture first.")
	}
	if err := f.err(); err != nil {
		return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) {
			return a.jobPage(r, base, id, "pictures")
		})
	}
	http.Redirect(w, r, "/jobs/"+strconv.FormatInt(id, 10)+"?done=pictures", http.StatusSeeOther)
	return nil
}

// keptPart answers the script: the thumbnails with the field that they go in,
// or what is wrong in one sentence.
func (a *App) keptPart(w http.ResponseWriter, r *http.Request, f *form, kept []int64,
	get func(context.Context, db.Querier, int64) (picture.Picture, error), path func(int64) string) error {
	for _, sentence := range f.faults {
		http.Error(w, sentence, http.StatusUnprocessableEntity)
		return nil
	}
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	var list []picture.Picture
	for _, id := range kept {
		p, err := get(r.Context(), a.pool, id)
		if err != nil {
			return err
		}
		list = append(list, p)
	}
	return render(w, r, http.StatusOK, templates.KeptShots(base, f.text("part"), path, list))
}

// showPicture says whether the customer sees a picture.
func (a *App) showPicture(w http.ResponseWriter, r *http.Request) error {
	jobID, err := a.id(r, "job")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	id, shown := f.number("picture"), f.text("shown") == "yes"
	return a.take(w, r, f, "picture shown", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return benchPath(jobID) + "#pictures", picture.Show(ctx, tx, by, jobID, id, shown)
	}, func(base templates.Base) (templ.Component, error) {
		return a.sheetPage(r.Context(), base, jobID, "")
	})
}

// size is which file of a picture is wanted.
type size func(picture.Picture) string

func full(p picture.Picture) string  { return p.SHA }
func thumb(p picture.Picture) string { return p.ThumbSHA }

// shopPicture makes the handler of one size of a picture.
func shopPicture(wanted size) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		id, err := a.id(r, "id")
		if err != nil {
			return err
		}
		p, err := picture.Get(r.Context(), a.pool, id)
		if err != nil {
			return err
		}
		return a.sendPicture(w, r, wanted(p))
	}
}

// customerPicture is shopPicture for whoever has the link, of what the customer
// may see.
func customerPicture(wanted size) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		id, err := a.id(r, "id")
		if err != nil {
			return err
		}
		var p picture.Picture
		err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
			visit, err := link.Open(r.Context(), tx, chi.URLParam(r, "token"), a.Now())
			if err != nil {
				return err
			}
			p, err = picture.ForCustomer(r.Context(), tx, visit, id)
			return err
		})
		if err != nil {
			return err
		}
		return a.sendPicture(w, r, wanted(p))
	}
}

// sendPicture answers with the file, or where that is missing with a drawing
// that says so, since what asks is mostly a page with the picture in it. The
// content under an address never changes.
func (a *App) sendPicture(w http.ResponseWriter, r *http.Request, sha string) error {
	file, err := a.Pictures.File(sha)
	if errors.As(err, new(fault.NotFound)) {
		a.Log.Warn("a picture is missing; damperdesk check lists them", "sha", sha)
		if !strings.HasSuffix(r.URL.Path, "/thumb") {
			return err
		}
		w.Header().Set("Content-Type", "image/svg+xml")
		w.WriteHeader(http.StatusNotFound)
		return templates.MissingPicture().Render(r.Context(), w)
	}
	if err != nil {
		return err
	}
	defer file.Close()
	w.Header().Set("Content-Type", "image/jpeg")
	w.Header().Set("Cache-Control", "private, max-age=86400")
	w.Header().Set("ETag", `"`+sha+`"`)
	http.ServeContent(w, r, "", time.Time{}, file)
	return nil
}
