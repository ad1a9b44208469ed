package bench_test

import (
	"errors"
	"strings"
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/quantity"
	"damperdesk/internal/tool"
)

func TestTheOwnerLetsAToolBeUsedThatDoesNotSuit(t *testing.T) {
	tx := dbtest.Tx(t)
	d := withSheet(t, tx)
	d.start()
	d.signUpTo("Z6")
	foot := d.step("Z7")
	id, err := tool.Add(ctx, tx, d.act(), tool.Tool{Name: "Wrench 9", Kind: "click wrench", RangeMinNm: 2, RangeMaxNm: 15, Unit: quantity.NewtonMetre, Graduation: 0.1})
	d.must(err)
	mechanic := dbtest.By(t, tx, "mechanic")
	sign := func() error {
		return bench.Sign(ctx, tx, dbtest.Act(t, tx, mechanic), london, bench.Signing{
			StepID: foot.ID, ToolID: id, Value: &quantity.Value{SI: 7.3, Unit: quantity.NewtonMetre, Entered: "7.3"}})
	}
	if err := d.tried(func(pgxTx) error { return sign() }); err == nil {
		t.Error("a mechanic signs with a wrench that was never calibrated")
	}
	refused(t, "by a mechanic", bench.AllowTool(ctx, tx, dbtest.Act(t, tx, mechanic), london, foot.ID, id, "new today"),
		"Only the owner lets a tool be used that does not suit.")
	if err := bench.AllowTool(ctx, tx, d.act(), london, foot.ID, d.wrench(), "why not"); err == nil {
		t.Error("one that suits is allowed")
	}
	if err := bench.AllowTool(ctx, tx, d.act(), london, foot.ID, id, " "); err == nil {
		t.Error("allowed without a reason")
	}
	long := strings.Repeat("x", 1001)
	var invalid *fault.Invalid
	if err := bench.AllowTool(ctx, tx, d.act(), london, foot.ID, id, long); !errors.As(err, &invalid) || invalid.Fields["allow_reason"] == "" {
		t.Errorf("allowed with a reason without end: %v", err)
	}
	if err := bench.Sign(ctx, tx, d.act(), london, bench.Signing{StepID: foot.ID, Reason: long}); !errors.As(err, &invalid) || invalid.Fields["reason"] == "" {
		t.Errorf("signed with a reason without end: %v", err)
	}
	d.must(bench.AllowTool(ctx, tx, d.act(), london, foot.ID, id, "new today, its certificate is in the post"))
	d.must(sign())
	if got := d.step("Z7").Done.Reason; !strings.HasSuffix(got, " allows it: new today, its certificate is in the post") {
		t.Errorf("beside the sign-off stands %q", got)
	}
}
