package main

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path"
	"regexp"
	"slices"
	"strings"
)

// ofLicence finds the files of a module that must go with it.
var ofLicence = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|third_party_licenses)([.-].*)?$`)

// notice is one text and the parts that it belongs to.
type notice struct {
	parts []string
	text  string
}

// notices returns the file: every text once, with the parts that it belongs to, in the order of the parts. A part without a
// text is an error: nobody may then pass it on.
func notices(parts []part) ([]byte, error) {
	var all []notice
	for _, p := range parts {
		texts, err := textsOf(p.dir)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", p.name, err)
		}
		if len(texts) == 0 {
			return nil, fmt.Errorf("%s has no licence in its folder", p.name)
		}
		for _, t := range texts {
			name := strings.TrimSpace(p.name + " " + p.version)
			if t.file != "" {
				name += ", " + t.file
			}
			i := slices.IndexFunc(all, func(n notice) bool { return n.text == t.text })
			if i < 0 {
				i, all = len(all), append(all, notice{text: t.text})
			}
			all[i].parts = append(all[i].parts, name)
		}
	}
	var b bytes.Buffer
	b.WriteString("Busgauss is linked from the works named here, which come under the terms that stand below their names.\n" +
		"Written by go run ./cmd/notices.\n")
	rule := strings.Repeat("=", 80)
	for _, n := range all {
		fmt.Fprintf(&b, "\n%s\n%s\n%s\n\n%s\n", rule, strings.Join(n.parts, "\n"), rule, n.text)
	}
	return b.Bytes(), nil
}

// licenceText is one text. file is where it stands, if that says more than that it is the licence.
type licenceText struct{ file, text string }

// textsOf returns the texts of a folder, and of a folder of further licences in it, by name.
func textsOf(dir string) ([]licenceText, error) {
	root := os.DirFS(dir)
	entries, err := fs.ReadDir(root, ".")
	if err != nil {
		return nil, err
	}
	var out []licenceText
	for _, e := range entries {
		if !ofLicence.MatchString(e.Name()) {
			continue
		}
		names := []string{e.Name()}
		if e.IsDir() {
			below, err := fs.ReadDir(root, e.Name())
			if err != nil {
				return nil, err
			}
			names = nil
			for _, b := range below {
				names = append(names, path.Join(e.Name(), b.Name()))
			}
		}
		for _, name := range names {
			data, err := fs.ReadFile(root, name)
			if err != nil {
				return nil, err
			}
			text := strings.TrimSpace(strings.ReplaceAll(string(data), "\r\n", "\n"))
			shown := name
			if base := strings.ToLower(name); strings.HasPrefix(base, "licen") || strings.HasPrefix(base, "copying") {
				shown = ""
			}
			out = append(out, licenceText{shown, text})
		}
	}
	return out, nil
}
