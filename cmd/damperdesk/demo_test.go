package main

import (
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

func TestResetRemovesADemoAndNothingElse(t *testing.T) {
	dir := dataFolder(t)
	folder := filepath.Join(dir, demoFolder)
	p := &program{log: slog.New(slog.DiscardHandler)}
	refused := func(want string) {
		t.Helper()
		err := p.resetDemo(t.Context(), Config{Data: folder})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want an error with %q", err, want)
		}
	}
	if err := p.resetDemo(t.Context(), Config{Data: folder}); err != nil {
		t.Errorf("without a demo: %v", err)
	}
	if err := p.resetDemo(t.Context(), Config{Data: folder, DatabaseURL: "postgres://a@b/c"}); err == nil {
		t.Error("a configured database was to be reset")
	}
	if err := os.Mkdir(dir, 0o711); err != nil {
		t.Fatal(err)
	}
	if _, err := linkKey(Config{Data: dir}); err != nil {
		t.Fatal(err)
	}
	r := startServer(t, folder, "serve")
	refused("does not say that it is a demo")
	if err := markDemo(folder); err != nil {
		t.Fatal(err)
	}
	refused("already runs with the data folder " + folder)
	r.end(t, syscall.SIGKILL) // leaves its database running

	if err := p.resetDemo(t.Context(), Config{Data: folder}); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(folder); !os.IsNotExist(err) {
		t.Errorf("the demo is still there: %v", err)
	}
	if _, err := os.Stat(filepath.Join(dir, linkKeyFile)); err != nil {
		t.Errorf("what lay beside it is gone: %v", err)
	}
}
