package cluster

import (
	"errors"
	"os"
	"os/exec"
	"syscall"
)

// child is a program of ours that somebody waits for from the first moment.
type child struct {
	process *os.Process
	done    chan struct{} // closed when it has ended
}

func startChild(cmd *exec.Cmd) (*child, error) {
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	c := &child{cmd.Process, make(chan struct{})}
	go func() {
		cmd.Wait() // how it ended is in its log
		close(c.done)
	}()
	return c, nil
}

func (c *child) ended() bool {
	select {
	case <-c.done:
		return true
	default:
		return false
	}
}

// interrupt asks for a fast shutdown; one that has ended already is fine.
func (c *child) interrupt() error {
	if err := c.process.Signal(syscall.SIGINT); !errors.Is(err, os.ErrProcessDone) {
		return err
	}
	return nil
}
