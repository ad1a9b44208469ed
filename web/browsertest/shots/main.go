// Shots takes a picture of every kind of page of a running demo, at several
// widths, into a folder. It works as people do to get there: it starts a job,
// makes customers' addresses and sends forms that are refused, so it belongs on
// a demo only.
//
//	go run ./cmd/damperdesk demo --listen 127.0.0.1:8080
//	go run ./web/browsertest/shots -url http://127.0.0.1:8080 DIR
//
// -looks says how the pages are looked at, several after each other: light,
// dark, grey (no colours), and print, which gives the sheets of paper, through
// pdftoppm of poppler-utils.
//
// -first sets up a shop that has nothing yet and takes its pages. It is the
// address and the code that "damperdesk serve" prints on an empty database:
// http://127.0.0.1:8081/setup?code=KCFE-1G1G-GFJ0-X6DQ
//
// It says which pages are wider than the window, always at 320 too, and on
// which bench pages something lies under the sign bar.
package main

import (
	"context"
	"flag"
	"fmt"
	"net/url"
	"os"
	"slices"
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
	first := flags.String("first", "", "address for setting up an empty shop, to take its pages instead")
	sizes := flags.String("widths", "1440,1024,768,390,320", "widths of the pictures; 1024x768 says the height too")
	looks := flags.String("looks", "light", "light, dark, grey and print, or some of them")
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
	s := shooter{dir: flags.Arg(0), address: *address, sizes: strings.Split(*sizes, ","), looks: strings.Split(*looks, ",")}
	if *audit != "" {
		script, err := os.ReadFile(*audit)
		if err != nil {
			return err
		}
		s.audit = string(script)
	}
	list := scenes
	switch {
	case *only != "":
		list = []scene{{name: "only", who: *as, start: *only}}
	case *first != "":
		u, err := url.Parse(*first)
		if err != nil {
			return err
		}
		s.address = u.Scheme + "://" + u.Host
		list = slices.Concat(setUp(u.RequestURI()), emptyScenes)
	}
	list = slices.DeleteFunc(slices.Clone(list), func(sc scene) bool { return !strings.Contains(sc.name, *match) })
	return s.all(ctx, list)
}

// shooter takes scenes at every size in every look.
type shooter struct {
	browser      *browsertest.Browser
	dir, address string
	sizes, looks []string
	audit        string
}

func (s shooter) all(ctx context.Context, list []scene) error {
	if err := os.MkdirAll(s.dir, 0o755); err != nil {
		return err
	}
	browser, err := browsertest.Start(ctx)
	if err != nil {
		return err
	}
	defer browser.Close()
	s.browser = browser
	for _, sc := range list {
		if err := s.take(ctx, sc); err != nil {
			return fmt.Errorf("%s: %w", sc.name, err)
		}
	}
	return nil
}

// take gets to a scene once and takes it.
func (s shooter) take(ctx context.Context, sc scene) error {
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
	for i, look := range s.looks {
		if look == "print" {
			err = s.print(ctx, tab, sc.name)
		} else {
			err = s.pictures(tab, sc.name, browsertest.Look(look), i == 0)
		}
		if err != nil {
			return err
		}
	}
	if slices.Contains(s.sizes, narrowest) {
		return nil
	}
	if err := resize(tab, narrowest); err != nil {
		return err
	}
	return s.check(tab, sc.name, narrowest)
}
