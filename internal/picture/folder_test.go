package picture

import (
	"context"
	"errors"
	"testing"
)

func TestAThirdPictureWaits(t *testing.T) {
	f, err := Look(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for range 2 {
		f.busy <- struct{}{}
	}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error)
	go func() {
		_, err := f.Make(ctx, nil)
		ended <- err
	}()
	select {
	case err := <-ended:
		t.Fatalf("it did not wait: %v", err)
	default:
	}
	cancel()
	if err := <-ended; !errors.Is(err, context.Canceled) {
		t.Errorf("it ended with %v, want to have waited", err)
	}
}
