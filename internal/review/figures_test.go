package review

import "testing"

// TestExpect: of a service with few promises what to expect lies between what was
// seen of it and what holds for all; no figure stands for all of them, nor where
// there are fewer than five.
func TestExpect(t *testing.T) {
	rows := func(counts ...[2]int) []Kept {
		list := []Kept{{}}
		for _, c := range counts {
			list = append(list, Kept{Code: "service", Now: Share{K: c[0], N: c[1]}})
			list[0].Now.K += c[0]
			list[0].Now.N += c[1]
		}
		return list
	}
	list := rows([2]int{18, 20}, [2]int{0, 1}, [2]int{9, 10})
	if err := expect(list); err != nil {
		t.Fatal(err)
	}
	all := list[0].Now.Part()
	if next := list[2].Next; list[0].Next != nil || next == nil || !(next.Share > 0.2 && next.Share < all) || next.Low >= next.Share || next.High <= next.Share {
		t.Errorf("of all %v, of none of one %+v; want nothing, and a share between 0 and %v", list[0].Next, next, all)
	}
	few := rows([2]int{1, 2}, [2]int{1, 1}, [2]int{0, 1})
	if err := expect(few); err != nil || few[1].Next != nil {
		t.Errorf("of four promises %+v, %v; want nothing", few[1].Next, err)
	}
}
