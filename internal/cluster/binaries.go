package cluster

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"time"
)

// oldest is the first PostgreSQL release this program runs on.
const oldest = 15

// places are where systems put the server's programs outside PATH.
var places = []string{
	"/usr/lib/postgresql/*/bin",                      // Debian, Ubuntu
	"/usr/pgsql-*/bin",                               // Fedora, RHEL
	"/usr/lib/postgresql*/bin",                       // openSUSE
	"/usr/libexec/postgresql*",                       // Alpine
	"/usr/lib64/postgresql-*/bin",                    // Gentoo
	"/usr/local/pgsql/bin",                           // built from source
	"/opt/homebrew/opt/postgresql*/bin",              // Homebrew
	"/usr/local/opt/postgresql*/bin",                 // Homebrew, older
	"/home/linuxbrew/.linuxbrew/opt/postgresql*/bin", // Homebrew on Linux
}

// FindBinaries returns the folder that holds initdb and postgres of the newest
// installed PostgreSQL, 15 at least, or an error of kind ErrNoBinaries. It
// looks in PATH and in the usual places of packages.
func FindBinaries() (string, error) {
	found := programsIn(searched())
	best := newest(found)
	if best.major < oldest {
		return "", noBinaries()
	}
	return best.folder, nil
}

// programs is a folder with initdb and postgres of one version.
type programs struct {
	folder string
	major  int
}

func searched() []string {
	folders := filepath.SplitList(os.Getenv("PATH"))
	for _, pattern := range places {
		match, _ := filepath.Glob(pattern) // fails only on a bad pattern
		folders = append(folders, match...)
	}
	return folders
}

func programsIn(folders []string) []programs {
	var found []programs
	seen := map[string]bool{}
	for _, folder := range folders {
		server, err := filepath.EvalSymlinks(filepath.Join(folder, "postgres"))
		if err != nil || !filepath.IsAbs(server) {
			continue
		}
		folder = filepath.Dir(server)
		if seen[folder] {
			continue
		}
		seen[folder] = true
		if major := majorOf(folder); major > 0 {
			found = append(found, programs{folder, major})
		}
	}
	return found
}

var versionLine = regexp.MustCompile(`^postgres \(PostgreSQL\) (\d+)`)

// majorOf asks the server in folder for its major version; 0 means that the
// folder cannot be used.
func majorOf(folder string) int {
	if _, err := exec.LookPath(filepath.Join(folder, "initdb")); err != nil {
		return 0
	}
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	out, err := exec.CommandContext(ctx, filepath.Join(folder, "postgres"), "--version").Output()
	if err != nil {
		return 0
	}
	match := versionLine.FindSubmatch(out)
	if match == nil {
		return 0
	}
	major, _ := strconv.Atoi(string(match[1])) // digits by the pattern
	return major
}

// newest returns the zero value when there is none.
func newest(found []programs) programs {
	var best programs
	for _, p := range found {
		if p.major > best.major {
			best = p
		}
	}
	return best
}

// choose picks the programs for data of version major, or the newest when
// major is 0, which stands for a folder without data.
func choose(found []programs, data string, major int) (programs, error) {
	best := newest(found)
	if best.major < oldest {
		return programs{}, noBinaries()
	}
	if major == 0 {
		return best, nil
	}
	for _, p := range found {
		if p.major == major && major >= oldest {
			return p, nil
		}
	}
	return programs{}, otherMajor(data, major, best.major)
}
