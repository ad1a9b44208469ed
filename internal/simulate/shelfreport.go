package simulate

import (
	"fmt"
	"io"
)

// PrintShelf writes what each policy came to.
func PrintShelf(w io.Writer, seed uint64, items int, results []ShelfResult) {
	fmt.Fprintf(w, "shelf of %d items, seed %d: two years after two of history; a piece costs 2 to 81 of the invented currency\n", items, seed)
	fmt.Fprintf(w, "  %-17s %9s %9s %8s %10s %11s %12s %7s\n", "", "demands", "not met", "", "pieces met", "days waited", "stock worth", "orders")
	for _, r := range results {
		fmt.Fprintf(w, "  %-17s %9d %9d %6.1f %% %8.1f %% %11d %12.0f %7d\n", r.Policy, r.Demands, r.Out, 100*float64(r.Out)/float64(max(1, r.Demands)),
			100*float64(r.Met)/float64(max(1, r.Asked)), r.WaitDays, r.MeanStock, r.Orders)
	}
	fmt.Fprintf(w, "  history was enough in %.0f %% of the weeks of items; else two were kept by hand\n", 100*float64(results[0].Levels)/float64(max(1, results[0].Reckoned)))
}
