package policyfile

import (
	"testing"
	"testing/fstest"
)

func TestNearName(t *testing.T) {
	for name, want := range map[string]string{
		"busgauss-standard.yaml":           "",
		"busgauss-standard.yml":            StandardName,
		"busgauss-standard.json":           StandardName,
		"busgauss-standard":                StandardName,
		"Busgauss-standard.yaml":           StandardName,
		"BUSGAUSS-STANDARD.YAML":           StandardName,
		"busgauss_standard.yaml":           StandardName,
		"busgauss.standard.yaml":           StandardName,
		"busgauss-standards.yaml":          StandardName,
		"busgauss-standart.yaml":           StandardName,
		"busguass-standard.yaml":           StandardName,
		"busgauss-stand\u0430rd.yaml":      StandardName, // a Cyrillic letter
		"busgauss-standard\u200b.yaml":     StandardName,
		"busgauss-deviation.yaml":          DeviationsName,
		"busgauss-base-line.yaml":          BaselineName,
		"busgauss-baseline.yml":            BaselineName,
		"busgauss-standard-metering.yaml":  "",
		"busgauss-standard.yaml.orig":      "",
		"busgauss-standard.md":             "",
		"drive.yaml":                       "",
		"standard.yaml":                    "",
		"busgauss-drives-of-the-ship.yaml": "",
	} {
		if got := nearName(name); got != want {
			t.Errorf("%q: %q, want %q", name, got, want)
		}
	}
}

func TestLeadsToGit(t *testing.T) {
	root := fstest.MapFS{
		".git/config": {Data: []byte("x")},
		"a.yaml":      {Data: []byte("x")},
		"b.yaml":      {Data: []byte("a.yaml"), Mode: 0o777 | 1<<27},
		"c.yaml":      {Data: []byte(".git/config"), Mode: 0o777 | 1<<27},
		"d":           {Data: []byte(".git"), Mode: 0o777 | 1<<27},
		"e.yaml":      {Data: []byte("d/config"), Mode: 0o777 | 1<<27},
		"f.yaml":      {Data: []byte("f.yaml"), Mode: 0o777 | 1<<27},
		"g/h.yaml":    {Data: []byte("../.GIT/config"), Mode: 0o777 | 1<<27},
	}
	for name, want := range map[string]bool{
		"a.yaml": false, "b.yaml": false, "c.yaml": true, "d/config": true, "e.yaml": true, ".git/config": true, "f.yaml": true,
		"g/h.yaml": true, "missing.yaml": false,
	} {
		if got := leadsToGit(root, name); got != want {
			t.Errorf("%s: %t, want %t", name, got, want)
		}
	}
}
