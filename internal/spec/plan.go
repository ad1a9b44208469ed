package spec

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"

	"damperdesk/internal/db"
	"damperdesk/internal/quantity"
)

// What a row of a file is to the library.
const (
	RowNew       = "new"
	RowChanged   = "changed"
	RowUnchanged = "unchanged"
)

// Plan is what a file would do to the library.
type Plan struct {
	Models  []ModelPlan
	Refused []Refusal
	// Mark is of the file and of what it was compared with: another mark is
	// another plan.
	Mark string
}

// ModelPlan is what a file does to one model and its next draft.
type ModelPlan struct {
	Model     Model  // as it will be; its ID is 0 for a new one
	State     string // of the model itself
	Line      int    // of its row, 0 where the file has none
	Documents []Document
	Values    []ValuePlan
	Chart     string // state of the set-up chart, empty where the file has none
	ChartLine int
	Setup     Setup
	Sheet     Sheet // compared with: the draft, else the one in force
}

// ValuePlan is what a row does to a value.
type ValuePlan struct {
	Line   int
	State  string
	Value  Value
	Before *Value
}

// Any reports whether the file does anything.
func (p Plan) Any() bool { return slices.ContainsFunc(p.Models, ModelPlan.any) }

func (m ModelPlan) any() bool { return m.State != RowUnchanged || m.drafts() }

// drafts reports whether the model gets a draft.
func (m ModelPlan) drafts() bool {
	return m.Chart == RowNew || m.Chart == RowChanged || slices.ContainsFunc(m.Values, func(v ValuePlan) bool { return v.State != RowUnchanged })
}

// Count counts rows of a state, those of models, values and charts.
func (p Plan) Count(state string) int {
	n := 0
	for _, m := range p.Models {
		if m.Line > 0 && m.State == state {
			n++
		}
		if m.Chart == state {
			n += len(m.Setup.Rows)
		}
		for _, v := range m.Values {
			if v.State == state {
				n++
			}
		}
	}
	return n
}

// identity is what tells models apart.
type identity struct{ maker, name, years string }

// planner gathers a plan row by row.
type planner struct {
	plan      Plan
	bad       map[int]bool // lines that were refused
	models    map[identity]*ModelPlan
	order     []identity
	documents map[int64][]Document
	units     map[int64]bool // models that units are of
	charts    map[identity][]csvRow
}

// PlanImport says what a file would do. A file that cannot be read as one is a
// fault.Invalid on "file".
func PlanImport(ctx context.Context, q db.Querier, data []byte) (Plan, error) {
	p := &planner{bad: map[int]bool{}, models: map[identity]*ModelPlan{}, charts: map[identity][]csvRow{}}
	rows, err := readCSV(data, p.refuse)
	if err != nil {
		return Plan{}, err
	}
	if err := p.readLibrary(ctx, q); err != nil {
		return Plan{}, err
	}
	for _, r := range rows {
		if r.Text("row") == rowModel {
			p.model(r)
		}
	}
	for _, r := range rows {
		switch r.Text("row") {
		case rowModel:
		case rowValue:
			p.value(r)
		case rowChart:
			p.chartRow(r)
		default:
			r.Wrong("row", "Say what the line is: model, value or chart.")
		}
	}
	for _, id := range p.order {
		if rows := p.charts[id]; len(rows) > 0 {
			p.chart(p.models[id], rows)
		}
	}
	return p.finished(data), nil
}

func (p *planner) refuse(line int, column, why string) {
	p.bad[line] = true
	p.plan.Refused = append(p.plan.Refused, Refusal{Line: line, Column: column, Why: why})
}

// readLibrary reads what the file is compared with.
func (p *planner) readLibrary(ctx context.Context, q db.Querier) error {
	models, err := Models(ctx, q)
	if err != nil {
		return err
	}
	sheets, err := sheetsOf(ctx, q, 0, "'draft'")
	if err != nil {
		return err
	}
	rows, err := q.Query(ctx, "select id, model_id, title, edition, false as used from document order by id")
	documents, err := db.All[Document](rows, err)
	if err != nil {
		return fmt.Errorf("read documents: %w", err)
	}
	rows, err = q.Query(ctx, "select distinct m.id, m.model_id, '' as title, '' as edition, false as used from (select model_id as id, model_id from unit where model_id is not null) m")
	tied, err := db.All[Document](rows, err)
	if err != nil {
		return fmt.Errorf("read models of units: %w", err)
	}
	p.documents, p.units = map[int64][]Document{}, map[int64]bool{}
	for _, d := range documents {
		p.documents[d.ModelID] = append(p.documents[d.ModelID], d)
	}
	for _, u := range tied {
		p.units[u.ModelID] = true
	}
	for _, m := range models {
		p.models[identity{m.Maker, m.Name, m.Years}] = &ModelPlan{Model: m, State: RowUnchanged, Sheet: sheets[m.ID]}
	}
	return nil
}

// touch puts a model on the plan at its first row.
func (p *planner) touch(id identity) *ModelPlan {
	if !slices.Contains(p.order, id) {
		p.order = append(p.order, id)
	}
	return p.models[id]
}

func (r csvRow) identity() identity {
	return identity{r.Text("maker"), r.Text("model"), r.Text("years")}
}

func (p *planner) model(r csvRow) {
	id := r.identity()
	old := p.models[id]
	if old != nil {
		r.Keep(old.Model.cells())
	}
	m := r.model()
	switch {
	case old != nil && old.Line > 0:
		r.Wrong("model", fmt.Sprintf("This model stands in line %d already.", old.Line))
	case old != nil && old.Model.ID != 0 && m.Kind != old.Model.Kind && (old.Sheet.ID != 0 || p.units[old.Model.ID]):
		r.Wrong("kind", "There is a spec sheet or a unit of this "+old.Model.Kind+"; it stays one.")
	}
	if p.bad[r.Line] {
		return
	}
	if old == nil {
		p.models[id] = &ModelPlan{Model: m, State: RowNew, Line: r.Line}
		p.touch(id)
		return
	}
	old = p.touch(id)
	old.Line = r.Line
	if !sameCells(m.cells(), old.Model.cells()) {
		m.ID, m.Version, m.Revision, m.Draft = old.Model.ID, old.Model.Version, old.Model.Revision, old.Model.Draft
		old.Model, old.State = m, RowChanged
	}
}

func sameCells(a, b map[string]string) bool {
	for name := range a {
		if a[name] != b[name] {
			return false
		}
	}
	return true
}

// of finds the model that a row is about; without one the row is refused.
func (p *planner) of(r csvRow) *ModelPlan {
	if p.models[r.identity()] == nil {
		r.Wrong("model", "Neither the library nor a row of this file that is taken has that model.")
		return nil
	}
	return p.touch(r.identity())
}

// document gives a value from a document that document's id: one of the model's,
// or below zero for one that the file brings.
func (p *planner) document(m *ModelPlan, v *Value) []Document {
	all := slices.Concat(p.documents[m.Model.ID], m.Documents)
	if v.SourceKind != FromDocument {
		return all
	}
	i := slices.IndexFunc(all, func(d Document) bool { return d.Title == v.DocumentTitle && d.Edition == v.DocumentEdition })
	if i < 0 {
		d := Document{ID: -int64(len(m.Documents)) - 1, Title: v.DocumentTitle, Edition: v.DocumentEdition}
		i, all = len(all), append(all, d)
	}
	v.DocumentID = &all[i].ID
	return all
}

// brings keeps a document that a row which is taken is the first to name.
func (m *ModelPlan) brings(v Value) {
	if v.DocumentID != nil && *v.DocumentID == -int64(len(m.Documents))-1 {
		m.Documents = append(m.Documents, Document{ID: *v.DocumentID, Title: v.DocumentTitle, Edition: v.DocumentEdition})
	}
}

func (p *planner) value(r csvRow) {
	v := r.value()
	m := p.of(r)
	if m == nil {
		return
	}
	documents, unread := p.document(m, &v), p.bad[r.Line]
	for field, why := range v.faults(m.Model, documents) {
		if field == "sure" {
			if unread {
				continue // there is no number to wonder at
			}
			why += " Put yes in this column if the source says so."
		}
		r.Wrong(valueColumn(field), why)
	}
	if k, _ := Find(v.Key); k.Kind == quantity.KindVolume && v.Fluid == "" {
		r.Wrong("fluid", "Say which fluid it is.")
	}
	if i := slices.IndexFunc(m.Values, func(o ValuePlan) bool { return o.Value.Key == v.Key && o.Value.Place == v.Place }); i >= 0 {
		r.Wrong("key", fmt.Sprintf("This value stands in line %d already.", m.Values[i].Line))
	}
	if p.bad[r.Line] {
		return
	}
	m.brings(v)
	plan := ValuePlan{Line: r.Line, State: RowNew, Value: v, Before: m.Sheet.at(v.Key, v.Place)}
	if plan.Before != nil {
		plan.State = RowChanged
		if v.By = plan.Before.By; v.same(*plan.Before) {
			plan.State = RowUnchanged
		}
	}
	m.Values = append(m.Values, plan)
}

func (p *planner) chartRow(r csvRow) {
	if m := p.of(r); m != nil {
		p.charts[r.identity()] = append(p.charts[r.identity()], r)
	}
}

// overlaid is the sheet with the values of the file on it.
func (m *ModelPlan) overlaid() Sheet {
	sheet := Sheet{}
	for _, v := range m.Values {
		sheet.Values = append(sheet.Values, v.Value)
	}
	for _, v := range m.Sheet.Values {
		if sheet.at(v.Key, v.Place) == nil {
			sheet.Values = append(sheet.Values, v)
		}
	}
	return sheet
}

// finished puts the plan in order and marks it.
func (p *planner) finished(data []byte) Plan {
	h := sha256.New()
	h.Write(data)
	for _, id := range p.order {
		m := p.models[id]
		p.plan.Models = append(p.plan.Models, *m)
		fmt.Fprintf(h, "|%d %d %s %d %d %s", m.Model.ID, m.Model.Version, m.State, m.Sheet.ID, m.Sheet.Version, m.Chart)
		for _, v := range m.Values {
			fmt.Fprintf(h, " %d%s", v.Line, v.State)
		}
	}
	slices.SortStableFunc(p.plan.Refused, func(a, b Refusal) int { return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column)) })
	p.plan.Mark = hex.EncodeToString(h.Sum(nil))
	return p.plan
}
