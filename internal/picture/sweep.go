package picture

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"regexp"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
)

// youngest is how old a file without a row has to be before it goes: by then
// no act that wrote it can still be on its way to its row.
const youngest = time.Hour

// ErrManyOrphans says that more files have no row than crashes leave.
var ErrManyOrphans = errors.New("many files in the folder of pictures have no row in this database, as where a database from before them was restored: none was removed")

// tooMany reports whether so many files without a row are no leavings.
func tooMany(orphans, files int) bool { return orphans > 20 && orphans*10 > files }

// Sweep removes files of ours that have no row, none younger than an hour, and returns
// how many. Where they are more than a tenth of all, and more than 20, none
// goes, and the error is ErrManyOrphans. None goes either while the database names
// no picture at all: it may be about to be restored.
func Sweep(ctx context.Context, tx pgx.Tx, f *Folder, now time.Time) (int, error) {
	if err := forgetOld(ctx, tx, now); err != nil {
		return 0, err
	}
	if err := removeErased(ctx, tx, f); err != nil {
		return 0, err
	}
	old, files, err := f.older(now.Add(-youngest))
	if err != nil {
		return 0, err
	}
	orphans, err := withoutRow(ctx, tx, old)
	if err != nil || len(orphans) == 0 {
		return 0, err
	}
	if tooMany(len(orphans), files) {
		return 0, ErrManyOrphans
	}
	var some bool
	if err := tx.QueryRow(ctx, "select exists (select from picture)").Scan(&some); err != nil || !some {
		return 0, err
	}
	if _, err := tx.Exec(ctx, "select pg_advisory_xact_lock("+filesLock+")"); err != nil {
		return 0, fmt.Errorf("sweep pictures: %w", db.Translate(err))
	}
	// Nobody adds one from here on; what came meanwhile is young, or has its row.
	old, _, err = f.older(now.Add(-youngest))
	if err != nil {
		return 0, err
	}
	if orphans, err = withoutRow(ctx, tx, old); err != nil {
		return 0, err
	}
	for _, name := range orphans {
		if err := f.root.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return 0, fmt.Errorf("sweep pictures: %w", err)
		}
	}
	return len(orphans), nil
}

// removeErased removes the files of pictures that were erased, whatever their age,
// but for those that somebody else's picture is too.
func removeErased(ctx context.Context, tx pgx.Tx, f *Folder) error {
	if f.root == nil {
		return nil
	}
	if _, err := tx.Exec(ctx, "select pg_advisory_xact_lock("+filesLock+")"); err != nil {
		return fmt.Errorf("remove erased pictures: %w", db.Translate(err))
	}
	rows, err := tx.Query(ctx, "delete from picture_gone returning sha || '.jpg'")
	if err != nil {
		return fmt.Errorf("remove erased pictures: %w", err)
	}
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err == nil {
		names, err = withoutRow(ctx, tx, names)
	}
	for _, name := range names {
		if gone := f.root.Remove(name); gone != nil && !errors.Is(gone, fs.ErrNotExist) {
			err = errors.Join(err, gone)
		}
	}
	if err != nil {
		return fmt.Errorf("remove erased pictures: %w", err)
	}
	return nil
}

// ours are the names that this package gives to files. Whatever else lies in the
// folder is somebody's own.
var ours = regexp.MustCompile(`^([0-9a-f]{64}\.jpg|part-[0-9A-Z]+)$`)

// older lists our files last written before that moment, and counts all of ours.
func (f *Folder) older(than time.Time) (old []string, all int, err error) {
	entries, err := fs.ReadDir(f.root.FS(), ".")
	if err != nil {
		return nil, 0, fmt.Errorf("list pictures: %w", err)
	}
	for _, e := range entries {
		info, err := e.Info()
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return nil, 0, fmt.Errorf("list pictures: %w", err)
		}
		if !info.Mode().IsRegular() || !ours.MatchString(e.Name()) {
			continue
		}
		all++
		if info.ModTime().Before(than) {
			old = append(old, e.Name())
		}
	}
	return old, all, nil
}

// withoutRow keeps of some files those that are named by no row.
func withoutRow(ctx context.Context, q db.Querier, names []string) ([]string, error) {
	if len(names) == 0 {
		return nil, nil
	}
	rows, err := q.Query(ctx, `select name from unnest($1::text[]) as name
		where not exists (select from picture where sha = replace(name, '.jpg', ''))
			and not exists (select from picture where thumb_sha = replace(name, '.jpg', ''))
			and not exists (select from picture_waiting where sha = replace(name, '.jpg', ''))
			and not exists (select from picture_waiting where thumb_sha = replace(name, '.jpg', ''))`, names)
	if err != nil {
		return nil, fmt.Errorf("look for pictures without a row: %w", err)
	}
	list, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, fmt.Errorf("look for pictures without a row: %w", err)
	}
	return list, nil
}

// Broken lists the pictures whose files are missing or are not what was stored,
// at most ten, and says how many more.
func Broken(ctx context.Context, q db.Querier, f *Folder) ([]string, error) {
	rows, err := q.Query(ctx, pictureSQL+"where p.sha <> '' order by p.id")
	list, err := db.All[Picture](rows, err)
	if err != nil {
		return nil, fmt.Errorf("check pictures: %w", err)
	}
	var broken []string
	for _, p := range list {
		words, err := f.wrong(p)
		if err != nil {
			return nil, fmt.Errorf("check pictures: %w", err)
		}
		if words != "" {
			broken = append(broken, fmt.Sprintf("picture %d: %s", p.ID, words))
		}
	}
	if more := len(broken) - 10; more > 0 {
		broken = append(broken[:10], fmt.Sprintf("and %d more", more))
	}
	return broken, nil
}

func (f *Folder) wrong(p Picture) (string, error) {
	var parts []string
	for _, file := range []struct{ what, sha string }{{"its file", p.SHA}, {"its thumbnail", p.ThumbSHA}} {
		words, err := f.whole(file.sha)
		if err != nil {
			return "", err
		}
		if words != "" {
			parts = append(parts, file.what+" "+words)
		}
	}
	return strings.Join(parts, ", "), nil
}
