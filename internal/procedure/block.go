package procedure

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"damperdesk/internal/db"
)

// Services lists what the shop offers, in the order it is offered, and what it
// has offered once.
func Services(ctx context.Context, q db.Querier) ([]Service, error) {
	rows, err := q.Query(ctx, "select code, name, kinds, blocks, covers, not in_use as out_of_use, version from service order by seq, code")
	list, err := db.All[Service](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list services: %w", err)
	}
	return list, nil
}

// Current reads the blocks in force that the services name, by their code.
func Current(ctx context.Context, q db.Querier, services []Service) (map[string]Block, error) {
	rows, err := q.Query(ctx, `select s.id, b.code as block, b.title as block_title, s.key, s.kind, s.title, s.text,
			s.caution, s.place, s.spec_key, s.grades, s.grp, s.stop_here, s.second_check, s.may_be_unknown, s.tools, s.parts, s.minutes, s.fasteners, s.conditions
		from step s join block b on b.id = s.block_id
		where b.state = 'current' and b.code = any ($1) order by b.code, s.seq`, codesOf(services))
	steps, err := db.All[Step](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read blocks: %w", err)
	}
	revisions, err := currentRevisions(ctx, q)
	if err != nil {
		return nil, fmt.Errorf("read blocks: %w", err)
	}
	blocks := map[string]Block{}
	for _, s := range steps {
		b := blocks[s.Block]
		b.Code, b.Title, b.Revision = s.Block, s.BlockTitle, revisions[s.Block]
		b.Steps = append(b.Steps, s)
		blocks[s.Block] = b
	}
	return blocks, nil
}

// codesOf are the codes of the blocks that services name. An entry that cannot be
// read names none: to refuse it is Merge's.
func codesOf(services []Service) []string {
	codes := []string{}
	for _, s := range services {
		for _, entry := range s.Blocks {
			name, _, _ := strings.Cut(entry, " ")
			if p, err := parsePart(name); err == nil && !slices.Contains(codes, p.block) {
				codes = append(codes, p.block)
			}
		}
	}
	return codes
}

func currentRevisions(ctx context.Context, q db.Querier) (map[string]int, error) {
	type row struct {
		Code     string
		Revision int
	}
	rows, err := q.Query(ctx, "select code, revision from block where state = 'current'")
	list, err := db.All[row](rows, err)
	if err != nil {
		return nil, err
	}
	revisions := map[string]int{}
	for _, r := range list {
		revisions[r.Code] = r.Revision
	}
	return revisions, nil
}
