package check_test

import (
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/check"
	"damperdesk/internal/db/dbtest"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

const module = "damperdesk/"

// arrows is which packages of ours a package may import: nothing else, and
// nothing in the other direction.
var arrows = map[string]string{
	"work":                  "advice due shop picture staff intent history db job mail message fault link erase",
	"cmd/damperdesk":        "simulate web work demo due check cluster picture customer db live staff shop link procedure interval intent history fault mail letter message",
	"demo":                  "*",
	"simulate":              "*",
	"web":                   "*",
	"web/browsertest":       "",
	"web/browsertest/shots": "web/browsertest demo",
	"templates":             "static quantity money fault bench bill customer find goahead due history interval job letter link mail message procedure reconcile review chart stat torque oil airspring partslist shop spec staff stock summary tool picture plan order advice book icalfile erase",
	"letter":                "bench customer due goahead interval job link message shop summary money db fault history",
	"summary":               "picture db fault history shop staff customer link spec procedure tool job bench bill goahead due interval quantity money",
	"due":                   "db fault history shop staff customer link spec procedure tool job bench interval quantity money",
	"find":                  "db customer fold spec",

	"book":   "bench customer due interval job procedure quantity shop spec db fault history",
	"export": "customer picture db fault history",
	"erase":  "bill customer job link message picture db fault history",

	"review": "db fault job procedure bill stat stock",

	"plan": "bench db goahead job lineup procedure shop stat worktime",

	"goahead":   "bench bill job message db fault history",
	"partslist": "stock fold db fault history",
	"advice":    "order stock stat money db fault history",
	"order":     "csvfile stock money fold db fault history",
	"stock":     "money quantity oil fold db fault history csvfile",
	"bill":      "job stock money db fault history",
	"bench":     "partslist job procedure picture tool torque spec quantity stat db fault history",
	"job":       "partslist stock fold reconcile customer interval link message procedure stat money quantity db fault history intent",
	"procedure": "spec quantity db fault history",
	"interval":  "spec quantity stat db fault history",
	"tool":      "torque quantity interval db fault history",
	"spec":      "csvfile quantity db fault history",
	"shop":      "quantity money worktime db fault history",
	"staff":     "db fault history",
	"customer":  "fold reconcile db fault history",
	"link":      "db fault history",
	"message":   "db fault history",
	"picture":   "db fault history",

	"intent":        "db fault",
	"history":       "db",
	"live":          "db",
	"check":         "db",
	"db":            "fault migrations",
	"db/dbtest":     "check cluster db history",
	"cluster":       "",
	"money":         "",
	"mail":          "",
	"csvfile":       "fault quantity",
	"quantity":      "",
	"torque":        "",
	"oil":           "",
	"worktime":      "",
	"lineup":        "worktime",
	"vector":        "",
	"mail/mailtest": "",
	"airspring":     "",
	"stat":          "",
	"chart":         "",
	"fault":         "",
	"fold":          "",
	"static":        "",
	"reconcile":     "",
	"migrations":    "",
	"icalfile":      "",
}

func TestImportArrows(t *testing.T) {
	for _, p := range packages(t) {
		name := short(p.ImportPath)
		allowed, known := arrows[name]
		if !known {
			t.Errorf("package %s has no row in the table of arrows", name)
			continue
		}
		for _, imported := range p.Imports {
			if !strings.HasPrefix(imported, module) || allowed == "*" {
				continue
			}
			if !slices.Contains(strings.Fields(allowed), short(imported)) {
				t.Errorf("%s imports %s", name, short(imported))
			}
		}
	}
}

type goPackage struct {
	ImportPath, Dir string
	Imports         []string
	GoFiles         []string
}

func packages(t *testing.T) []goPackage {
	t.Helper()
	cmd := exec.Command("go", "list", "-json=ImportPath,Dir,Imports,GoFiles", "./...")
	cmd.Dir = "../.."
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var list []goPackage
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p goPackage
		err := dec.Decode(&p)
		if errors.Is(err, io.EOF) {
			return list
		}
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, p)
	}
}

func short(path string) string {
	return strings.TrimPrefix(strings.TrimPrefix(path, module), "internal/")
}

var writes = regexp.MustCompile(`(?i)\b(?:insert into|update|delete from|truncate)\s+([a-z_]+)`)

// The package that a table's comment names is the only one that writes it.
func TestOneWriterPerTable(t *testing.T) {
	owner := map[string]string{}
	rows, err := dbtest.Tx(t).Query(t.Context(), `select relname::text, split_part(split_part(obj_description(oid, 'pg_class'), ':', 1), ',', 1)
		from pg_class where relkind = 'r' and relnamespace = 'public'::regnamespace`)
	if err != nil {
		t.Fatal(err)
	}
	for rows.Next() {
		var table, by string
		if err := rows.Scan(&table, &by); err != nil {
			t.Fatal(err)
		}
		owner[table] = by
	}
	if rows.Err() != nil || len(owner) < 30 {
		t.Fatalf("read %d tables, error %v", len(owner), rows.Err())
	}
	written := map[string]bool{}
	for _, p := range packages(t) {
		name := short(p.ImportPath)
		if name == "db/dbtest" {
			continue
		}
		for _, file := range p.GoFiles {
			text, err := os.ReadFile(filepath.Join(p.Dir, file))
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range writes.FindAllStringSubmatch(string(text), -1) {
				table := strings.ToLower(m[1])
				by, isTable := owner[table]
				if !isTable {
					continue
				}
				written[table] = true
				if by != name {
					t.Errorf("%s/%s writes %s, which belongs to %s", name, file, table, by)
				}
			}
		}
	}
	for table, by := range owner {
		if !written[table] && table != "event_chain" && table != "schema_migrations" {
			t.Errorf("table %s of %s is written by nobody", table, by)
		}
	}
}

// clockReaders are the packages of internal that begin acts, or wait for a
// process or another server.
var clockReaders = regexp.MustCompile(`internal/(work|cluster|mail)/`)

// Time is an argument below web, work and cmd, and what tests make cheap stays
// dear in the program.
func TestFilesStayInTheirRoom(t *testing.T) {
	root := os.DirFS("../..")
	err := fs.WalkDir(root, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		text, err := fs.ReadFile(root, path)
		if err != nil {
			return err
		}
		if strings.Contains(path, "internal/") && !clockReaders.MatchString(path) && strings.Contains(string(text), "time.Now()") {
			t.Errorf("%s reads the clock; time is an argument below web, work and cmd", path)
		}
		if strings.Contains(string(text), "staff.Thrifty") {
			t.Errorf("%s makes hashes cheap; only tests may", path)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// Each invariant is a query that runs, and names its rule once.
func TestInvariantsHoldOnAnEmptyDatabase(t *testing.T) {
	found, err := check.Run(t.Context(), dbtest.Tx(t))
	if err != nil || len(found) > 0 {
		t.Errorf("found %v, error %v", found, err)
	}
}

// Offenders must be found, or check would be a comfort and no proof.
func TestBrokenDataIsFound(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	if _, err := tx.Exec(t.Context(), "reset role"); err != nil {
		t.Fatal(err)
	}
	for _, sql := range []string{
		"insert into intent (id, kind, fingerprint, at) values (gen_random_uuid(), 'test', '', now())",
		"insert into terms (words, actor_id, intent_id, at) values ('x', " + "null, '" + by.Intent.String() + "', now())",
		"create table stray (id int)",
		"grant update on signoff to damperdesk_serve",
		"alter table cross_out disable trigger append_only",
	} {
		if _, err := tx.Exec(t.Context(), sql); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
	}
	found, err := check.Run(t.Context(), tx)
	if err != nil {
		t.Fatal(err)
	}
	got := map[string][]string{}
	for _, f := range found {
		got[f.Name] = f.Offenders
	}
	for name, offender := range map[string]string{
		"every act has its cause: an intent has an answer":                       "",
		"every act has its cause: an append-only row has an event of its intent": "terms",
		"guarded: every table names its owner":                                   "stray",
		"guarded: the serving role cannot change append-only tables":             "signoff update",
		"guarded: append-only tables have both triggers":                         "cross_out",
	} {
		if !slices.ContainsFunc(got[name], func(o string) bool { return strings.Contains(o, offender) }) {
			t.Errorf("%s: found %v, want %q", name, got[name], offender)
		}
	}
}
