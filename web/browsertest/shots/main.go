// Shots takes a picture of every page of a running demo, in each role, at
// several widths, into a folder:
//
//	go run ./cmd/damperdesk demo --listen 127.0.0.1:8080
//	go run ./web/browsertest/shots -url http://127.0.0.1:8080 DIR
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
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

// start is where each role begins; pages linked from there are visited too.
var start = map[string][]string{
	"Odile": {"/board", "/drop-off", "/models", "/me"},
	"Ines":  {"/bench"},
	"Ragna": {"/people"},
}

// linked are the kinds of page reached by their first link from a page seen.
var linked = []string{"/jobs/", "/visits/", "/customers/", "/units/", "/bench/", "/models/", "/c/"}

func run(ctx context.Context, args []string) error {
	flags := flag.NewFlagSet("shots", flag.ContinueOnError)
	address := flags.String("url", "http://127.0.0.1:8080", "address of the demo")
	widths := flags.String("widths", "1440,768,390", "widths of the pictures")
	dark := flags.Bool("dark", false, "take the dark theme")
	only := flags.String("only", "", "a path to take alone, as Ragna")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if flags.NArg() != 1 {
		return fmt.Errorf("say which folder the pictures go to")
	}
	if err := os.MkdirAll(flags.Arg(0), 0o755); err != nil {
		return err
	}
	browser, err := browsertest.Start(ctx)
	if err != nil {
		return err
	}
	defer browser.Close()
	people := start
	if *only != "" {
		people = map[string][]string{"Ragna": {*only}}
	}
	for name, paths := range people {
		for width := range strings.SplitSeq(*widths, ",") {
			w, err := strconv.Atoi(width)
			if err != nil {
				return err
			}
			s := shooter{dir: flags.Arg(0), who: name, width: w, dark: *dark, follow: *only == ""}
			if err := s.walk(browser, *address, paths); err != nil {
				return fmt.Errorf("%s at %d: %w", name, w, err)
			}
		}
	}
	return nil
}

type shooter struct {
	dir, who     string
	width        int
	dark, follow bool
}

func (s shooter) walk(browser *browsertest.Browser, address string, paths []string) error {
	tab, end, err := browser.Open(address, s.width, map[bool]int{true: 1024, false: 900}[s.width == 768])
	if err != nil {
		return err
	}
	defer end()
	if err := tab.SignIn(s.who, demo.Passphrase(s.who)); err != nil {
		return err
	}
	seen := map[string]bool{}
	for i := 0; i < len(paths); i++ {
		if err := s.take(tab, paths[i]); err != nil {
			return fmt.Errorf("%s: %w", paths[i], err)
		}
		if !s.follow {
			continue
		}
		found, err := browsertest.Eval[[]string](tab, `[...document.querySelectorAll("a[href^='/']")].map(a => a.getAttribute("href"))`)
		if err != nil {
			return err
		}
		for _, href := range found {
			if kind := kindOf(href); kind != "" && !seen[kind] {
				seen[kind] = true
				paths = append(paths, href)
			}
		}
	}
	return nil
}

// kindOf tells pages of one kind apart from others by their path without ids.
func kindOf(href string) string {
	path, _, _ := strings.Cut(href, "?")
	for _, prefix := range linked {
		if strings.HasPrefix(path, prefix) {
			return strings.Map(func(r rune) rune {
				if r >= '0' && r <= '9' {
					return -1
				}
				return r
			}, path)
		}
	}
	return ""
}

func (s shooter) take(tab *browsertest.Tab, path string) error {
	if err := tab.Go(path); err != nil {
		return err
	}
	png, err := tab.Picture(s.dark)
	if err != nil {
		return err
	}
	name := strings.Trim(strings.NewReplacer("/", "-", "?", "-", "=", "-").Replace(path), "-")
	file := fmt.Sprintf("%s-%s-%d.png", s.who, name, s.width)
	if err := os.WriteFile(filepath.Join(s.dir, file), png, 0o644); err != nil {
		return err
	}
	wide, err := browsertest.Eval[bool](tab, "document.documentElement.scrollWidth > innerWidth + 1")
	if err == nil && wide {
		fmt.Printf("%s is wider than %d\n", path, s.width)
	}
	return err
}
