package main

import (
	"context"
	"fmt"
	"strings"

	"damperdesk/internal/check"
	"damperdesk/internal/db"
	"damperdesk/internal/picture"
)

// check prints what is broken, or "clean", and the head of the history, which
// a shop can write down elsewhere.
func (p *program) check(ctx context.Context) error {
	return p.withPool(ctx, func(pool *db.Pool) error {
		found, err := check.Run(ctx, pool)
		if err != nil {
			return err
		}
		lost, err := brokenPictures(ctx, pool, p.pictures())
		if err != nil {
			return err
		}
		if len(lost) > 0 {
			found = append(found, check.Finding{Name: "pictures are whole: every row has its files", Offenders: lost})
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

// brokenPictures looks for the files of pictures and makes nothing.
func brokenPictures(ctx context.Context, pool *db.Pool, dir string) ([]string, error) {
	folder, err := picture.Look(dir)
	if err != nil {
		return nil, err
	}
	defer folder.Close()
	return picture.Broken(ctx, pool, folder)
}
