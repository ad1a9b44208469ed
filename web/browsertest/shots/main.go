// Shots takes a picture of every kind of page of a running demo, at several
// widths, into a folder. It works as people do to get there: it starts a job,
// makes customers' addresses and sends forms that are refused, so it belongs on
// a demo only.
//
//	go run ./cmd/damperdesk demo --listen 127.0.0.1:8080
//	go run ./web/browsertest/shots -url http://127.0.0.1:8080 DIR
//
// It says which pages are wider than the window, and on which bench pages
// something lies under the sign bar.
package main

import (
	"cmp"
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"damperdesk/internal/demo"
	"damperdesk/web/browsertest"
)

func main() {
	if err := run(context.Background(), os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(ctx context.Context, args []string) error {
	flags := flag.NewFlagSet("shots", flag.ContinueOnError)
	address := flags.String("url", "http://127.0.0.1:8080", "address of the demo")
	sizes := flags.String("widths", "1440,1024,768,390,320", "widths of the pictures; 1024x768 says the height too")
	dark := flags.Bool("dark", false, "take the dark theme")
	only := flags.String("only", "", "a path to take alone, as -as")
	as := flags.String("as", "Ragna", "who looks at the path of -only")
	match := flags.String("match", "", "take only the scenes whose name has this")
	audit := flags.String("audit", "", "a script file that gives a text to print for each page")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if flags.NArg() != 1 {
		return fmt.Errorf("say which folder the pictures go to")
	}
	s := shooter{dir: flags.Arg(0), address: *address, dark: *dark}
	if *audit != "" {
		script, err := os.ReadFile(*audit)
		if err != nil {
			return err
		}
		s.audit = string(script)
	}
	if err := os.MkdirAll(s.dir, 0o755); err != nil {
		return err
	}
	browser, err := browsertest.Start(ctx)
	if err != nil {
		return err
	}
	defer browser.Close()
	s.browser = browser
	list := scenes
	if *only != "" {
		list = []scene{{name: "only", who: *as, start: *only}}
	}
	for _, sc := range list {
		if !strings.Contains(sc.name, *match) {
			continue
		}
		if err := s.take(sc, strings.Split(*sizes, ",")); err != nil {
			return fmt.Errorf("%s: %w", sc.name, err)
		}
	}
	return nil
}

type shooter struct {
	browser      *browsertest.Browser
	dir, address string
	dark         bool
	audit        string
}

// take gets to a scene once and takes it at every size.
func (s shooter) take(sc scene, sizes []string) error {
	tab, end, err := s.browser.Open(s.address, 1440, 900)
	if err != nil {
		return err
	}
	defer end()
	if sc.who != "" {
		if err := tab.SignIn(sc.who, demo.Passphrase(sc.who)); err != nil {
			return err
		}
	}
	if err := tab.Go(sc.start); err != nil {
		return err
	}
	for _, step := range sc.then {
		if err := step(tab); err != nil {
			return err
		}
	}
	for _, size := range sizes {
		if err := s.picture(tab, sc.name, size); err != nil {
			return err
		}
	}
	return nil
}

var sized = regexp.MustCompile(`^(\d+)(?:x(\d+))?$`)

// heights are those of the devices in the shop, by width.
var heights = map[int]int{1024: 768, 768: 1024, 390: 844, 320: 640}

func (s shooter) picture(tab *browsertest.Tab, name, size string) error {
	m := sized.FindStringSubmatch(size)
	if m == nil {
		return fmt.Errorf("%q is no size", size)
	}
	width, _ := strconv.Atoi(m[1])
	height, _ := strconv.Atoi(m[2])
	if err := tab.Resize(width, cmp.Or(height, heights[width], 900)); err != nil {
		return err
	}
	for _, check := range []struct {
		find  func() (string, error)
		words string
	}{
		{tab.Wider, "is wider than the window by"},
		{tab.Covered, "has under the sign bar:"},
		{func() (string, error) { return browsertest.Eval[string](tab, cmp.Or(s.audit, `""`)) }, "audit:"},
	} {
		found, err := check.find()
		if err != nil {
			return err
		}
		if found != "" {
			fmt.Printf("%s at %s %s %s\n", name, size, check.words, found)
		}
	}
	png, err := tab.Picture(s.dark)
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(s.dir, name+"-"+size+".png"), png, 0o644)
}
