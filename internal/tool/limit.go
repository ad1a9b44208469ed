package tool

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/torque"
)

// classes is what ISO 6789-1:2017 calls the kinds of tool: wrenches that are set
// are adjustable and graduated (from memory).
var classes = map[string]torque.Class{
	"click wrench":      {Type: "II", Letter: "A"},
	"click screwdriver": {Type: "II", Letter: "D"},
	"beam wrench":       {Type: "I", Letter: "A"},
	"dial wrench":       {Type: "I", Letter: "B"},
	"electronic wrench": {Type: "I", Letter: "C"},
}

// Class is what ISO 6789-1:2017 calls the tool's kind.
func (t Tool) Class() torque.Class { return classes[t.Kind] }

// Source is where a permissible deviation comes from.
type Source string

// The sources, the one that counts before the others first.
const (
	ByCertificate Source = "its certificate"
	ByShop        Source = "the shop’s table"
	Unconfirmed   Source = "ISO 6789-1, not confirmed"
)

// Deviation is what the tool may be off, a share, and who says so: its last
// certificate, else the shop's table, else the default, which nobody confirmed.
func (t Tool) Deviation() (share float64, from Source) {
	switch {
	case t.Certified != nil:
		return *t.Certified, ByCertificate
	case t.Confirmed != nil:
		return *t.Confirmed, ByShop
	}
	return byStandard(t.Kind, t.small()), Unconfirmed
}

func (t Tool) small() bool { return t.RangeMaxNm <= torque.Small }

func byStandard(kind string, small bool) float64 {
	i := slices.IndexFunc(torque.Limits, func(l torque.Limit) bool { return l.Class == classes[kind] && l.Small == small })
	if i < 0 {
		return torque.MostShare // a kind that the standard has no class for
	}
	return torque.Limits[i].Share
}

// PerCent prints a share: "4 %".
func PerCent(share float64) string {
	return strconv.FormatFloat(math.Round(share*1e4)/100, 'f', -1, 64) + "\u00a0%"
}

// Limit is what the tools of a kind may be off, those up to 10 N·m or those
// above.
type Limit struct {
	Kind    string
	Small   bool
	Share   float64
	Version int          // 0: the default, which nobody confirmed
	Class   torque.Class `db:"-"`
}

// Name tells the limits apart: "click wrench, small".
func (l Limit) Name() string {
	if l.Small {
		return l.Kind + ", small"
	}
	return l.Kind
}

// Limits lists them all, kind by kind, small tools first.
func Limits(ctx context.Context, q db.Querier) ([]Limit, error) {
	rows, err := q.Query(ctx, "select kind, small, share, version from tool_limit")
	own, err := db.All[Limit](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what tools may be off: %w", err)
	}
	var list []Limit
	for _, kind := range Kinds {
		for _, small := range []bool{true, false} {
			l := Limit{Kind: kind, Small: small, Share: byStandard(kind, small)}
			if i := slices.IndexFunc(own, func(o Limit) bool { return o.Kind == kind && o.Small == small }); i >= 0 {
				l = own[i]
			}
			l.Class = classes[kind]
			list = append(list, l)
		}
	}
	return list, nil
}

// SetLimit keeps what the owner confirms over the version that was seen.
func SetLimit(ctx context.Context, tx pgx.Tx, by history.By, l Limit) error {
	if !by.Has("owner") {
		return fault.Forbidden("Only an owner confirms what a tool may be off.")
	}
	if !slices.Contains(Kinds, l.Kind) {
		return fault.NotFound("There is no such kind of tool.")
	}
	if torque.Permissible(l.Share) != nil {
		return fault.Field("share", fmt.Sprintf("Type per cent above 0 and at most %v.", 100*torque.MostShare))
	}
	sql := "update tool_limit set share = $3, version = version + 1 where kind = $1 and small = $2 and version = $4"
	args := []any{l.Kind, l.Small, l.Share, l.Version}
	if l.Version == 0 {
		sql, args = "insert into tool_limit (kind, small, share) values ($1, $2, $3) on conflict do nothing", args[:3]
	}
	if err := db.Changed(tx.Exec(ctx, sql, args...)); err != nil {
		return fmt.Errorf("set what %ss may be off: %w", l.Kind, err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "tool limit set",
		Detail: map[string]any{"kind": l.Kind, "small": l.Small, "share": l.Share}})
}
