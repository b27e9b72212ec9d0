package main

import (
	"encoding/json"
	"os"
	"regexp"
	"runtime/debug"
	"slices"
	"strings"
	"testing"
	"time"
)

var at = time.Date(2026, 12, 1, 13, 0, 0, 0, time.FixedZone("", 3600))

func built() *debug.BuildInfo {
	return &debug.BuildInfo{
		GoVersion: "go1.26.8",
		Deps: []*debug.Module{
			{Path: "golang.org/x/sys", Version: "v0.49.0", Sum: "h1:eAcEdBguc6AFrGbPOyE0g168Uey4kKFW9J6qsBLSeMU="},
			{Path: "old.example/Thing", Version: "v1.0.0", Replace: &debug.Module{Path: "example.org/New+Thing", Version: "v2.0.0+incompatible", Sum: "h1:eAcEdBguc6AFrGbPOyE0g168Uey4kKFW9J6qsBLSeMU="}},
		},
		Settings: []debug.BuildSetting{{Key: "GOOS", Value: "linux"}, {Key: "-trimpath", Value: "true"}, {Key: "vcs.modified", Value: "true"}},
	}
}

func TestBill(t *testing.T) {
	text, err := bill(built(), []byte("abc"), "busgauss", "1.2.0", at)
	if err != nil {
		t.Fatal(err)
	}
	var d document
	if err := json.Unmarshal(text, &d); err != nil {
		t.Fatal(err)
	}
	// SHA-256 of "abc": FIPS 180-2, appendix B.1.
	const abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	if h := d.Metadata.Component.Hashes; len(h) != 1 || h[0].Content != abc || h[0].Algorithm != "SHA-256" {
		t.Errorf("%+v", h)
	}
	if d.Metadata.Timestamp != "2026-12-01T12:00:00Z" || d.Metadata.Component.Version != "1.2.0" {
		t.Errorf("%+v", d.Metadata)
	}
	var purls []string
	for _, c := range d.Components {
		purls = append(purls, c.Purl)
	}
	// What stands in the place of a module is what is linked; capitals and signs: purl specification, golang.
	want := []string{"pkg:golang/std@1.26.8", "pkg:golang/example.org/new+thing@v2.0.0+incompatible", "pkg:golang/golang.org/x/sys@v0.49.0"}
	if !slices.Equal(purls, want) {
		t.Errorf("%q", purls)
	}
	// Every component hangs under the program, and nothing else is spoken of.
	if len(d.Dependencies) != 4 || d.Dependencies[0].Ref != "program" || len(d.Dependencies[0].DependsOn) != 3 {
		t.Errorf("%+v", d.Dependencies)
	}
	for i, c := range d.Components {
		if d.Dependencies[0].DependsOn[i] != c.Ref || d.Dependencies[i+1].Ref != c.Ref {
			t.Errorf("%s does not hang under the program", c.Ref)
		}
	}
	if strings.Contains(string(text), "vcs") {
		t.Error("the state of somebody's work tree is in it")
	}
	again, err := bill(built(), []byte("abc"), "busgauss", "1.2.0", at.UTC())
	if err != nil || string(again) != string(text) {
		t.Errorf("the same program gives other bytes, %v", err)
	}
	other, err := bill(built(), []byte("abd"), "busgauss", "1.2.0", at)
	if err != nil || serial(t, other) == serial(t, text) {
		t.Errorf("another program has the same serial number, %v", err)
	}
}

// The form of RFC 9562, version 8: its digit and the two bits of the variant.
var form = regexp.MustCompile(`^urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-8[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$`)

func serial(t *testing.T, text []byte) string {
	t.Helper()
	var d document
	if err := json.Unmarshal(text, &d); err != nil {
		t.Fatal(err)
	}
	if !form.MatchString(d.Serial) {
		t.Errorf("serial number %s", d.Serial)
	}
	return d.Serial
}

// A module that nobody can check is no part of a bill.
func TestNoChecksum(t *testing.T) {
	info := built()
	info.Deps[0].Sum = ""
	if _, err := bill(info, nil, "x", "1", at); err == nil || !strings.Contains(err.Error(), "golang.org/x/sys was linked without a checksum") {
		t.Error(err)
	}
	info.Deps[0].Sum = "h1:?"
	if _, err := bill(info, nil, "x", "1", at); err == nil {
		t.Error("a checksum that is none is taken")
	}
}

func TestArguments(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{nil, {self, "1.0"}, {self, "1.0", "soon"}, {"none", "1.0", "2026-12-01"}, {"bill_test.go", "1.0", "2026-12-01"}} {
		if err := run(args); err == nil {
			t.Errorf("%q is taken", args)
		}
	}
}
