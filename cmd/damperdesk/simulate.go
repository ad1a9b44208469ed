package main

import (
	"context"
	"errors"
	"fmt"
	"os"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/cluster"
	"damperdesk/internal/db"
	"damperdesk/internal/simulate"
)

// simulate runs an invented shop on a database that goes when it ends, and
// prints how many of the promises that were proposed were kept.
func (p *program) simulate(ctx context.Context) error {
	if p.jobs < 1 || p.runs < 1 || !(p.load > 0 && p.load < 1) || !(p.uneven >= 0 && p.uneven <= 1) {
		return misuse{"simulate: it takes at least one job and one run, a load between 0 and 1, and weeks that differ by 0 to 1"}
	}
	for n := range p.runs {
		o := simulate.Options{Jobs: p.jobs, Seed: uint64(p.seed + n), Load: p.load, Uneven: p.uneven}
		if err := p.simulateOnce(ctx, o); err != nil {
			return err
		}
	}
	return nil
}

func (p *program) simulateOnce(ctx context.Context, o simulate.Options) (err error) {
	url, stop, err := cluster.StartThrowaway(ctx, os.TempDir())
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, stop()) }()
	if err := db.Migrate(ctx, url); err != nil {
		return err
	}
	pool, err := db.Open(ctx, url)
	if err != nil {
		return err
	}
	defer pool.Close()
	o.Tend = func(ctx context.Context) error { return analyze(ctx, url) }
	r, err := simulate.Run(ctx, pool, o)
	if err != nil {
		return fmt.Errorf("seed %d: %w", o.Seed, err)
	}
	r.Print(p.out)
	return nil
}

func analyze(ctx context.Context, url string) (err error) {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, conn.Close(ctx)) }()
	_, err = conn.Exec(ctx, "analyze")
	return err
}

// simulateStock runs an invented shelf in memory and prints what each way to order
// came to.
func (p *program) simulateStock(context.Context) error {
	if p.items < 1 || p.runs < 1 {
		return misuse{"simulate stock: it takes at least one item and one run"}
	}
	for n := range p.runs {
		seed := uint64(p.seed + n)
		results, err := simulate.ShelfRun(seed, p.items)
		if err != nil {
			return fmt.Errorf("seed %d: %w", seed, err)
		}
		simulate.PrintShelf(p.out, seed, p.items, results)
	}
	return nil
}

// simulateRiders needs no database: what is foretold comes of readings alone.
func (p *program) simulateRiders(context.Context) error {
	if p.riders < 1 || p.years < 1 || p.runs < 1 {
		return misuse{"simulate riders: it takes at least one rider, one year and one run"}
	}
	for n := range p.runs {
		simulate.RidersRun(uint64(p.seed+n), p.riders, p.years).Print(p.out)
	}
	return nil
}
