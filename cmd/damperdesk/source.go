package main

import (
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
)

// longestSecret keeps a wrong name from being read as a key: a device or a
// picture is longer.
const longestSecret = 4096

// find looks where the setting is given. origin names the place, also when
// something is wrong there; it is empty when the setting is nowhere.
func (s setting) find(env, flags map[string]string) (text, origin string, err error) {
	if text, ok := flags[s.name]; ok {
		return text, "--" + s.name, nil
	}
	for _, name := range s.env {
		text, file := env[name], ""
		if s.secret {
			file = env[name+"_FILE"]
		}
		switch {
		case text != "" && file != "":
			return "", name, fmt.Errorf("%s_FILE is set too; one of the two is enough", name)
		case text != "":
			return text, name, nil
		case file != "":
			text, err := readSecret(file)
			return text, name + "_FILE", err
		}
	}
	return "", "", nil
}

// readSecret reads a file of one line.
func readSecret(name string) (string, error) {
	info, err := os.Stat(name)
	if err != nil {
		return "", err
	}
	if !info.Mode().IsRegular() || info.Size() > longestSecret {
		return "", fmt.Errorf("%s is no file of one line", name)
	}
	b, err := os.ReadFile(name)
	if err != nil {
		return "", err
	}
	text := strings.TrimSpace(string(b))
	if text == "" || strings.ContainsAny(text, "\r\n") {
		return "", fmt.Errorf("%s does not hold exactly one line", name)
	}
	return text, nil
}

// unknown lists the variables that look like settings and are none, such as
// misspelt ones. Those of the tests are not the program's.
func unknown(env map[string]string) []string {
	known := map[string]bool{}
	for _, s := range settings {
		for _, name := range s.env {
			known[name] = true
			known[name+"_FILE"] = s.secret
		}
	}
	var wrong []string
	for _, name := range slices.Sorted(maps.Keys(env)) {
		if strings.HasPrefix(name, "DAMPERDESK_") && !strings.HasPrefix(name, "DAMPERDESK_TEST_") && !known[name] {
			wrong = append(wrong, name+": there is no such setting; damperdesk help lists them")
		}
	}
	return wrong
}
