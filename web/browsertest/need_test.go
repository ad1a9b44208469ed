package browsertest_test

import "fmt"

// needViews are the states of the pages of parts lists and of what jobs need.
func needViews(s stock) map[string][]view {
	asks := s.id("select min(n.job_id) from need n join job j on j.id = n.job_id where j.closed_at is null")
	over := s.id("select min(job_id) from need where used > 0 and job_id in (select id from job where closed_at is not null)")
	need := fmt.Sprintf("/jobs/%d/parts/%d", asks, s.id("select min(id) from need where used = 0 and job_id = $1", asks))
	parts := fmt.Sprintf("/jobs/%d/parts", asks)
	return map[string][]view{
		"/parts/lists": {{"Ines", "/parts/lists", nil}},
		"/services/{code}/parts": {
			{"Ines", "/services/full/parts", nil}, {"Ragna", "/services/other/parts", nil},
			{"Ragna", "/services/full/parts", func(h hand) {
				h.fill(`[name="item"]`, "nothing such")
				h.press("aside form .button")
			}},
		},
		"/jobs/{id}/parts": {
			{"Ines", parts, nil}, {"Odile", fmt.Sprintf("/jobs/%d/parts", over), nil},
			{"Odile", parts, func(h hand) {
				h.fill(`[name="item"]`, "nothing such")
				h.press("aside form .button")
			}},
		},
		"/jobs/{id}/parts/{need}": {
			{"Ines", need, nil},
			{"Ines", need, func(h hand) {
				h.fill(`[name="qty"]`, "some")
				h.press("form .main")
			}},
		},
	}
}
