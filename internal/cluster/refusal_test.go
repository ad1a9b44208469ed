package cluster

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func serverAccount(t *testing.T) account {
	t.Helper()
	a, err := chooseAccount("")
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// fakeData is a data folder of which only the version is looked at.
func fakeData(t *testing.T, version string) string {
	t.Helper()
	dir := openDir(t)
	a := serverAccount(t)
	data := filepath.Join(dir, "postgres")
	if err := a.ownFolder(data); err != nil {
		t.Fatal(err)
	}
	if err := a.writeFile(filepath.Join(data, "PG_VERSION"), version); err != nil {
		t.Fatal(err)
	}
	return dir
}

func TestOtherMajorIsRefused(t *testing.T) {
	t.Parallel()
	bin, err := FindBinaries()
	if err != nil {
		t.Fatal(err)
	}
	here := fmt.Sprintf("this machine has PostgreSQL %d", newest(programsIn(searched())).major)
	for _, version := range []string{"14", "99"} {
		dir := fakeData(t, version+"\n")
		_, err := Start(t.Context(), Options{Dir: dir, Bin: bin})
		wantKind(t, err, ErrOtherMajor, "written by PostgreSQL "+version, here, "pg_dump", dir)
	}
	if _, err := Start(t.Context(), Options{Dir: fakeData(t, "new")}); err == nil {
		t.Error("took PG_VERSION new")
	}
}

func TestDataWithoutVersionIsLeftAlone(t *testing.T) {
	t.Parallel()
	dir := fakeData(t, "15")
	version := filepath.Join(dir, "postgres", "PG_VERSION")
	if err := os.Rename(version, filepath.Join(dir, "postgres", "precious")); err != nil {
		t.Fatal(err)
	}
	if _, err := Start(t.Context(), Options{Dir: dir}); err == nil || !strings.Contains(err.Error(), "PG_VERSION") {
		t.Errorf("got %v, want an error about PG_VERSION", err)
	}
	if _, err := os.Stat(filepath.Join(dir, "postgres", "precious")); err != nil {
		t.Error(err)
	}
}

func TestNoBinariesNamesTheWaysOut(t *testing.T) {
	t.Parallel()
	_, err := Start(t.Context(), Options{Dir: openDir(t), Bin: openDir(t)})
	wantKind(t, err, ErrNoBinaries, "apt install postgresql", "dnf install", "apk add", "DATABASE_URL", "compose")
}

func TestChooseBinaries(t *testing.T) {
	t.Parallel()
	fake := func(line string, programs ...string) string {
		folder := openDir(t)
		for _, name := range programs {
			script := "#!/bin/sh\necho '" + line + "'\n"
			if err := os.WriteFile(filepath.Join(folder, name), []byte(script), 0o755); err != nil {
				t.Fatal(err)
			}
		}
		return folder
	}
	f14 := fake("postgres (PostgreSQL) 14.9", "postgres", "initdb")
	f15 := fake("postgres (PostgreSQL) 15.14 (Debian 15.14-0+deb12u1)", "postgres", "initdb")
	f16 := fake("postgres (PostgreSQL) 16beta2", "postgres", "initdb")
	half := fake("postgres (PostgreSQL) 18.1", "postgres")
	other := fake("something 19", "postgres", "initdb")
	for _, c := range []struct {
		folders []string
		major   int
		want    string
		kind    error
	}{
		{[]string{f14, f15, f16, half, other, "/nowhere", "relative"}, 0, f16, nil},
		{[]string{f14, f15, f16}, 15, f15, nil},
		{[]string{f15, f15}, 0, f15, nil},
		{[]string{f14, f15}, 14, "", ErrOtherMajor}, // we never made data of 14
		{[]string{f15, f16}, 17, "", ErrOtherMajor},
		{[]string{f14, half, other}, 0, "", ErrNoBinaries},
		{nil, 15, "", ErrNoBinaries},
	} {
		got, err := choose(programsIn(c.folders), "/data", c.major)
		if got.folder != c.want || !errors.Is(err, c.kind) {
			t.Errorf("data of %d among %v: got %q, %v; want %q, %v", c.major, c.folders, got.folder, err, c.want, c.kind)
		}
	}
}

func TestClosedParentIsNamed(t *testing.T) {
	t.Parallel()
	closed := filepath.Join(openDir(t), "closed")
	inside := filepath.Join(closed, "shop")
	if err := os.MkdirAll(inside, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(closed, 0); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.Chmod(closed, 0o700) })
	for _, dir := range []string{filepath.Join(closed, "new", "deep"), inside} {
		_, err := Start(t.Context(), Options{Dir: dir})
		wantKind(t, err, ErrClosedFolder, serverAccount(t).name, "cannot enter the folder "+closed, "/var/lib/damperdesk", "chmod o+x")
	}
	if err := os.Chmod(closed, 0o700); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(closed, "new")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a refused start left a folder: %v", err)
	}
}
