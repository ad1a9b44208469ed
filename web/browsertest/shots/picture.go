package main

import (
	"cmp"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"

	"damperdesk/web/browsertest"
)

// narrowest is the window that every page has to fit.
const narrowest = "320"

// pictures takes the page at every size; look is not in the file's name when it
// is light.
func (s shooter) pictures(tab *browsertest.Tab, name string, look browsertest.Look, check bool) error {
	if err := tab.Put(look); err != nil {
		return err
	}
	suffix := ""
	if look != browsertest.Light {
		suffix = "-" + string(look)
	}
	for _, size := range s.sizes {
		if err := resize(tab, size); err != nil {
			return err
		}
		if check {
			if err := s.check(tab, name, size); err != nil {
				return err
			}
		}
		png, err := tab.Picture()
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(s.dir, name+"-"+size+suffix+".png"), png, 0o644); err != nil {
			return err
		}
	}
	return nil
}

var sized = regexp.MustCompile(`^(\d+)(?:x(\d+))?$`)

// heights are those of the devices in the shop, by width.
var heights = map[int]int{1024: 768, 768: 1024, 390: 844, 320: 640}

func resize(tab *browsertest.Tab, size string) error {
	m := sized.FindStringSubmatch(size)
	if m == nil {
		return fmt.Errorf("%q is no size", size)
	}
	width, _ := strconv.Atoi(m[1])
	height, _ := strconv.Atoi(m[2])
	return tab.Resize(width, cmp.Or(height, heights[width], 900))
}

// check says what is wrong with the page at a size.
func (s shooter) check(tab *browsertest.Tab, name, size string) error {
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
	return nil
}

// print writes the page as it comes out on paper, a picture a sheet.
func (s shooter) print(ctx context.Context, tab *browsertest.Tab, name string) error {
	if err := tab.Put(browsertest.Light); err != nil {
		return err
	}
	pdf, err := tab.Print()
	if err != nil {
		return err
	}
	path := filepath.Join(s.dir, name+"-print")
	if err := os.WriteFile(path+".pdf", pdf, 0o644); err != nil {
		return err
	}
	out, err := exec.CommandContext(ctx, "pdftoppm", "-png", "-r", "100", path+".pdf", path).CombinedOutput()
	if err != nil {
		return fmt.Errorf("pdftoppm: %w: %s", err, out)
	}
	return nil
}
