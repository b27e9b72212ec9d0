package policyfile

import (
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/model/span"
	"busgauss/model/word"
)

// nearName returns which of the three names a file is nearly called; empty where it is called so, or otherwise.
func nearName(name string) string {
	if IsName(name) {
		return ""
	}
	stem := strings.ToLower(name)
	ending := path.Ext(stem)
	if ending != ".yaml" && ending != ".yml" && ending != ".json" && ending != "" {
		return ""
	}
	stem = strings.TrimSuffix(stem, ending)
	stem = strings.Map(func(r rune) rune {
		if r == '_' || r == '.' || r == ' ' {
			return '-'
		}
		return r
	}, stem)
	var stems []string
	for _, full := range []string{StandardName, DeviationsName, BaselineName} {
		if stems = append(stems, strings.TrimSuffix(full, ".yaml")); stem == stems[len(stems)-1] {
			return full
		}
	}
	if near, ok := word.Nearest(stem, stems); ok {
		return near + ".yaml"
	}
	return ""
}

// NearNames returns what is to be said of the files of a folder that are called nearly like one of a standard. Those among
// sources are read, for a standard extends them. show gives the path for messages.
func NearNames(root fs.FS, dir string, sources []policy.Source, show func(string) string) []finding.Finding {
	entries, err := fs.ReadDir(root, dir)
	if err != nil {
		return nil // whoever reads the folder says why
	}
	var out []finding.Finding
	for _, e := range entries {
		full := nearName(e.Name())
		name := path.Join(dir, e.Name())
		if full == "" || e.IsDir() || slices.ContainsFunc(sources, func(s policy.Source) bool { return s.RootPath == name }) {
			continue
		}
		first := span.Pos{Line: 1, Column: 1}
		out = append(out, finding.Finding{Rule: ruleName, Verdict: finding.Fail, Level: finding.Error, Span: span.Span{File: show(name), Start: first, End: first},
			Message: fmt.Sprintf("%s is not read: %s is the name that counts", quote(e.Name()), full), Remedy: "call it " + full + ", or something else"})
	}
	return out
}

// mostLinks is the number of links on a way that are followed.
const mostLinks = 40

// leadsToGit reports whether a path stands in .git below the root, by its name or by the links on its way.
func leadsToGit(root fs.FS, name string) bool {
	for range mostLinks {
		at := ""
		var next string
		parts := strings.Split(name, "/")
		for i, part := range parts {
			if strings.EqualFold(part, ".git") {
				return true
			}
			at = path.Join(at, part)
			info, err := fs.Lstat(root, at)
			if err != nil {
				return false
			}
			if info.Mode()&fs.ModeSymlink == 0 {
				continue
			}
			to, err := fs.ReadLink(root, at)
			if err != nil || path.IsAbs(to) {
				return false // refused when it is opened
			}
			next = path.Join(append([]string{path.Dir(at), strings.ReplaceAll(to, "\\", "/")}, parts[i+1:]...)...)
			break
		}
		if next == "" || !fs.ValidPath(next) {
			return false
		}
		name = next
	}
	return true
}
