package main

import (
	"context"
	"fmt"
	"strings"

	"damperdesk/internal/check"
	"damperdesk/internal/db"
)

// check prints what is broken, or "clean", and the head of the history, which
// a shop can write down elsewhere.
func (p *program) check(ctx context.Context) error {
	return p.withPool(ctx, func(pool *db.Pool) error {
		found, err := check.Run(ctx, pool)
		if err != nil {
			return err
		}
		head, err := check.Head(ctx, pool)
		if err != nil {
			return err
		}
		for _, f := range found {
			fmt.Fprintf(p.out, "%s: %s\n", f.Name, strings.Join(f.Offenders, ", "))
		}
		if len(found) == 0 {
			fmt.Fprintln(p.out, "clean")
		}
		fmt.Fprintln(p.out, "head of the history:", head)
		if len(found) > 0 {
			return errFindings
		}
		return nil
	})
}
