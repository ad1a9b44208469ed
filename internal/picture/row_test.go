package picture_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/picture"
	"damperdesk/internal/procedure"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

var ctx = context.Background()

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// aJob takes in a fork that is invented.
func aJob(t testing.TB, tx pgx.Tx) (history.By, job.VisitWithJobs) {
	t.Helper()
	by := dbtest.By(t, tx, "desk", "mechanic", "owner")
	must(t, procedure.Install(ctx, tx, by))
	id, err := job.TakeIn(ctx, tx, by, job.DropOff{
		NewCustomer: customer.Details{Name: "Mirela Anttonen", Phone: "07700 900 140"},
		PromisedAt:  dbtest.Now.Add(4 * time.Hour), Currency: "GBP",
		Units: []job.DropOffUnit{{NewUnit: customer.UnitDetails{Kind: "fork", ModelWords: "a fork of no known make"},
			Symptoms: []string{job.JustDue}, Services: []string{"lower-leg"}}},
	})
	must(t, err)
	visit, err := job.Visit(ctx, tx, id)
	must(t, err)
	return by, visit
}

func folder(t testing.TB) (*picture.Folder, string) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "pictures")
	f, err := picture.Open(dir)
	must(t, err)
	t.Cleanup(func() { f.Close() })
	return f, dir
}

func files(t testing.TB, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	must(t, err)
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

func made(t *testing.T, w, h int) picture.Made {
	t.Helper()
	m, err := picture.Make(asPNG(t, corners(w, h, seen)))
	must(t, err)
	return m
}

func TestAPictureIsKeptWithItsFiles(t *testing.T) {
	tx := dbtest.Tx(t)
	by, visit := aJob(t, tx)
	f, dir := folder(t)
	id, err := picture.Add(ctx, tx, by, f, visit.Jobs[0].ID, nil, made(t, 640, 480))
	must(t, err)
	list, err := picture.OfJob(ctx, tx, visit.Jobs[0].ID)
	must(t, err)
	if len(list) != 1 || list[0].ID != id || list[0].Width != 640 || list[0].Height != 480 || list[0].Shown {
		t.Fatalf("stored %+v", list)
	}
	for _, sha := range []string{list[0].SHA, list[0].ThumbSHA} {
		file, err := f.File(sha)
		must(t, err)
		file.Close()
	}
	if got := files(t, dir); len(got) != 2 {
		t.Errorf("the folder has %v, want the picture and its thumbnail", got)
	}
}

func TestOneContentIsOneFile(t *testing.T) {
	tx := dbtest.Tx(t)
	by, visit := aJob(t, tx)
	f, dir := folder(t)
	for range 2 {
		_, err := picture.Add(ctx, tx, dbtest.Act(t, tx, by), f, visit.Jobs[0].ID, nil, made(t, 640, 480))
		must(t, err)
	}
	list, err := picture.OfJob(ctx, tx, visit.Jobs[0].ID)
	must(t, err)
	if len(list) != 2 || list[0].SHA != list[1].SHA || len(files(t, dir)) != 2 {
		t.Errorf("%d rows and files %v, want two rows of the same two files", len(list), files(t, dir))
	}
}

func TestWhoMayTakePictures(t *testing.T) {
	tx := dbtest.Tx(t)
	by, visit := aJob(t, tx)
	f, dir := folder(t)
	atDesk := dbtest.By(t, tx, "desk")
	_, err := picture.Add(ctx, tx, atDesk, f, visit.Jobs[0].ID, nil, made(t, 32, 24))
	if err != nil {
		t.Errorf("the desk, of a unit as it came: %v", err)
	}
	kept, step := files(t, dir), int64(1)
	_, err = picture.Add(ctx, tx, atDesk, f, visit.Jobs[0].ID, &step, made(t, 64, 48))
	if !errors.As(err, new(fault.Forbidden)) {
		t.Errorf("the desk, of a step: %v, want it forbidden", err)
	}
	_, err = picture.Add(ctx, tx, by, f, 999_999, nil, made(t, 64, 48))
	if !errors.As(err, new(fault.NotFound)) {
		t.Errorf("a job that is not there: %v", err)
	}
	must(t, job.Cancel(ctx, tx, by, visit.Jobs[0].ID, "returned undone", "they changed their mind"))
	_, err = picture.Add(ctx, tx, by, f, visit.Jobs[0].ID, nil, made(t, 64, 48))
	if !errors.As(err, new(fault.Conflict)) {
		t.Errorf("a job that has left: %v", err)
	}
	if got := files(t, dir); !slices.Equal(got, kept) {
		t.Errorf("what was refused left %v beside %v", got, kept)
	}
}

func TestTheCustomerSeesOnlyWhatIsShown(t *testing.T) {
	tx := dbtest.Tx(t)
	by, visit := aJob(t, tx)
	_, other := aJob(t, tx)
	f, _ := folder(t)
	jobID := visit.Jobs[0].ID
	id, err := picture.Add(ctx, tx, by, f, jobID, nil, made(t, 64, 48))
	must(t, err)
	sees := func(visitID int64) bool {
		_, err := picture.ForCustomer(ctx, tx, visitID, id)
		if err != nil && !errors.As(err, new(fault.NotFound)) {
			t.Fatal(err)
		}
		return err == nil
	}
	if sees(visit.ID) {
		t.Error("a picture is the shop's own until somebody says otherwise")
	}
	must(t, picture.Show(ctx, tx, by, jobID, id, true))
	if !sees(visit.ID) || sees(other.ID) {
		t.Errorf("shown: its customer sees it: %v, another one: %v", sees(visit.ID), sees(other.ID))
	}
	if err := picture.Show(ctx, tx, by, other.Jobs[0].ID, id, false); !errors.As(err, new(fault.NotFound)) {
		t.Errorf("as one of another job: %v", err)
	}
	if err := picture.Show(ctx, tx, dbtest.By(t, tx, "desk"), jobID, id, false); !errors.As(err, new(fault.Forbidden)) {
		t.Errorf("by the desk: %v", err)
	}
	must(t, picture.Show(ctx, tx, by, jobID, id, false))
	if sees(visit.ID) {
		t.Error("taken back, and still to be seen")
	}
}

// A crash after the file and before its row leaves a file that the sweep takes
// an hour later, and no row.
func TestWhatACrashLeavesIsSwept(t *testing.T) {
	pool := dbtest.Clone(t)
	f, dir := folder(t)
	var visit job.VisitWithJobs
	var by history.By
	crash := errors.New("the power went")
	err := db.Write(ctx, pool, func(tx pgx.Tx) error {
		by, visit = aJob(t, tx)
		_, err := picture.Add(ctx, tx, by, f, visit.Jobs[0].ID, nil, made(t, 640, 480))
		must(t, err)
		return crash
	})
	if !errors.Is(err, crash) {
		t.Fatal(err)
	}
	must(t, db.Write(ctx, pool, func(tx pgx.Tx) error {
		by, visit = aJob(t, tx)
		_, err := picture.Add(ctx, tx, by, f, visit.Jobs[0].ID, nil, made(t, 800, 300))
		return err
	}))
	must(t, os.WriteFile(filepath.Join(dir, "part-ONE"), []byte("half"), 0o600))
	must(t, os.WriteFile(filepath.Join(dir, "desk.dump"), []byte("put here by somebody"), 0o600))
	sweep := func(now time.Time) (n int) {
		t.Helper()
		must(t, db.Write(ctx, pool, func(tx pgx.Tx) (err error) {
			n, err = picture.Sweep(ctx, tx, f, now)
			return err
		}))
		return n
	}
	if n := sweep(time.Now().Add(59 * time.Minute)); n != 0 || len(files(t, dir)) != 6 {
		t.Errorf("within the hour %d went, %v are left", n, files(t, dir))
	}
	if n := sweep(time.Now().Add(61 * time.Minute)); n != 3 || len(files(t, dir)) != 3 {
		t.Errorf("after it %d went, %v are left; want three gone, and what is not ours left", n, files(t, dir))
	}
	broken, err := picture.Broken(ctx, pool, f)
	must(t, err)
	if len(broken) != 0 {
		t.Errorf("what has a row is %v", broken)
	}
}

func TestAnEmptyDatabaseSweepsNothing(t *testing.T) {
	tx := dbtest.Tx(t)
	f, dir := folder(t)
	must(t, os.WriteFile(filepath.Join(dir, strings.Repeat("a", 64)+".jpg"), nil, 0o600))
	if n, err := picture.Sweep(ctx, tx, f, time.Now().Add(2*time.Hour)); n != 0 || err != nil || len(files(t, dir)) != 1 {
		t.Errorf("%d went, %v", n, err)
	}
}

func TestManyOrphansAreLeftAlone(t *testing.T) {
	tx := dbtest.Tx(t)
	f, dir := folder(t)
	for i := range 21 {
		must(t, os.WriteFile(filepath.Join(dir, fmt.Sprintf("%064x.jpg", i)), nil, 0o600))
	}
	n, err := picture.Sweep(ctx, tx, f, time.Now().Add(2*time.Hour))
	if n != 0 || !errors.Is(err, picture.ErrManyOrphans) || len(files(t, dir)) != 21 {
		t.Errorf("%d went, %v", n, err)
	}
}

// Sweeping while pictures are added takes none that has a row.
func TestSweepingBesideAddingLosesNothing(t *testing.T) {
	pool := dbtest.Clone(t)
	f, _ := folder(t)
	var visit job.VisitWithJobs
	var by history.By
	must(t, db.Write(ctx, pool, func(tx pgx.Tx) error { by, visit = aJob(t, tx); return nil }))
	m := made(t, 64, 48)
	var wg sync.WaitGroup
	for range 2 {
		wg.Go(func() {
			for range 10 {
				err := db.Write(ctx, pool, func(tx pgx.Tx) error {
					_, err := picture.Add(ctx, tx, dbtest.Act(t, tx, by), f, visit.Jobs[0].ID, nil, m)
					return err
				})
				if err != nil && !errors.As(err, new(fault.Conflict)) {
					t.Error(err)
				}
			}
		})
		wg.Go(func() {
			for range 10 {
				err := db.Write(ctx, pool, func(tx pgx.Tx) error {
					_, err := picture.Sweep(ctx, tx, f, time.Now().Add(2*time.Hour))
					return err
				})
				if err != nil && !errors.As(err, new(fault.Conflict)) {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	list, err := picture.OfJob(ctx, pool, visit.Jobs[0].ID)
	must(t, err)
	broken, err := picture.Broken(ctx, pool, f)
	must(t, err)
	if len(list) == 0 || len(broken) > 0 {
		t.Errorf("%d pictures, broken %v", len(list), broken)
	}
}

func TestAMissingOrOtherFileIsFound(t *testing.T) {
	tx := dbtest.Tx(t)
	by, visit := aJob(t, tx)
	f, dir := folder(t)
	for _, side := range []int{64, 80} {
		_, err := picture.Add(ctx, tx, dbtest.Act(t, tx, by), f, visit.Jobs[0].ID, nil, made(t, side, side))
		must(t, err)
	}
	list, err := picture.OfJob(ctx, tx, visit.Jobs[0].ID)
	must(t, err)
	must(t, os.Remove(filepath.Join(dir, list[0].SHA+".jpg")))
	must(t, os.WriteFile(filepath.Join(dir, list[1].ThumbSHA+".jpg"), []byte("something else"), 0o600))
	broken, err := picture.Broken(ctx, tx, f)
	must(t, err)
	if len(broken) != 2 || !strings.Contains(broken[0], "its file is missing") || !strings.Contains(broken[1], "its thumbnail is not what was stored") {
		t.Errorf("found %q", broken)
	}
	nowhere, err := picture.Look(filepath.Join(dir, "nowhere"))
	must(t, err)
	if broken, err = picture.Broken(ctx, tx, nowhere); err != nil || len(broken) != 2 {
		t.Errorf("without a folder: %q, %v", broken, err)
	}
}

// What is taken before there is a job waits, survives the sweep, and is of the
// job once that is there.
func TestAWaitingPictureIsReceivedOnceAndItsFilesStay(t *testing.T) {
	pool := dbtest.Clone(t)
	f, dir := folder(t)
	form, other := uuid.New(), uuid.New()
	var jobID, first, second, foreign int64
	taken := time.Now().Truncate(time.Second)
	must(t, db.Write(ctx, pool, func(tx pgx.Tx) (err error) {
		by, visit := aJob(t, tx)
		jobID, by.At = visit.Jobs[0].ID, taken
		first, err = picture.Wait(ctx, tx, by, f, form, made(t, 640, 480))
		must(t, err)
		second, err = picture.Wait(ctx, tx, by, f, form, made(t, 300, 400))
		must(t, err)
		foreign, err = picture.Wait(ctx, tx, by, f, other, made(t, 80, 60))
		return err
	}))
	sweep := func(now time.Time) {
		t.Helper()
		must(t, db.Write(ctx, pool, func(tx pgx.Tx) error { _, err := picture.Sweep(ctx, tx, f, now); return err }))
	}
	sweep(taken.Add(29 * 24 * time.Hour))
	if n := len(files(t, dir)); n != 5 { // the smallest is its own thumbnail
		t.Fatalf("%d files while they wait, want 5", n)
	}
	must(t, db.Write(ctx, pool, func(tx pgx.Tx) error {
		by := dbtest.By(t, tx, "desk")
		must(t, picture.Receive(ctx, tx, by, form, jobID, []int64{first, foreign}))
		return picture.Receive(ctx, tx, by, form, jobID, []int64{first})
	}))
	list, err := picture.OfJob(ctx, pool, jobID)
	must(t, err)
	if len(list) != 1 || list[0].Width != 640 || !list[0].At.Equal(taken) {
		t.Errorf("the job has %+v, want the first alone, with its own time", list)
	}
	left, err := picture.Waiting(ctx, pool, form, []int64{first, second, foreign})
	must(t, err)
	if len(left) != 1 || left[0].ID != second {
		t.Errorf("%+v wait still, want the second", left)
	}
	sweep(taken.Add(31 * 24 * time.Hour))
	if n := len(files(t, dir)); n != 2 {
		t.Errorf("%d files when nobody came back to the forms, want the two of the job", n)
	}
}
