package cluster

import (
	"testing"
)

func TestRunningFindsTheServerAndStartsNone(t *testing.T) {
	t.Parallel()
	dir := openDir(t)
	_, _, err := Running(t.Context(), dir)
	wantKind(t, err, ErrNotRunning, dir)
	c := start(t, Options{Dir: dir})
	serve, owner, err := Running(t.Context(), dir)
	if err != nil || serve != c.ServeURL() || owner != c.OwnerURL() {
		t.Errorf("got %s, %s, %v; want %s, %s", serve, owner, err, c.ServeURL(), c.OwnerURL())
	}
	stop(t, c)
	_, _, err = Running(t.Context(), dir)
	wantKind(t, err, ErrNotRunning, dir)
}
