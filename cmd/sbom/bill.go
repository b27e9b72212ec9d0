package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net/url"
	"runtime/debug"
	"slices"
	"strings"
	"time"
)

// The parts of CycloneDX 1.6 (ECMA-424) that are written, in the order of its schema.
type document struct {
	Schema       string       `json:"$schema"`
	Format       string       `json:"bomFormat"`
	SpecVersion  string       `json:"specVersion"`
	Serial       string       `json:"serialNumber"`
	Version      int          `json:"version"`
	Metadata     metadata     `json:"metadata"`
	Components   []component  `json:"components"`
	Dependencies []dependency `json:"dependencies"`
}

type metadata struct {
	Timestamp string    `json:"timestamp"`
	Component component `json:"component"`
}

type component struct {
	Type       string     `json:"type"`
	Ref        string     `json:"bom-ref"`
	Name       string     `json:"name"`
	Version    string     `json:"version"`
	Purl       string     `json:"purl,omitempty"`
	Hashes     []hash     `json:"hashes,omitempty"`
	Properties []property `json:"properties,omitempty"`
}

type hash struct {
	Algorithm string `json:"alg"`
	Content   string `json:"content"`
}

type property struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

type dependency struct {
	Ref       string   `json:"ref"`
	DependsOn []string `json:"dependsOn"`
}

// bill describes a program called name, whose bytes are data: itself, the library of Go and each module that is linked in. What
// the modules need of one another the program does not hold, so all of them stand under it.
func bill(info *debug.BuildInfo, data []byte, name, version string, at time.Time) ([]byte, error) {
	sum := sha256.Sum256(data)
	digest := hex.EncodeToString(sum[:])
	program := component{Type: "application", Ref: "program", Name: "busgauss", Version: version,
		Hashes: []hash{{"SHA-256", digest}}, Properties: []property{{"go:file", name}}}
	for _, s := range info.Settings {
		if slices.Contains([]string{"GOOS", "GOARCH", "CGO_ENABLED", "-trimpath"}, s.Key) {
			program.Properties = append(program.Properties, property{"go:" + strings.TrimPrefix(s.Key, "-"), s.Value})
		}
	}
	goVersion := strings.TrimPrefix(info.GoVersion, "go")
	parts := []component{{Type: "library", Ref: "std", Name: "std", Version: goVersion, Purl: "pkg:golang/std@" + goVersion}}
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		p := component{Type: "library", Ref: m.Path + "@" + m.Version, Name: m.Path, Version: m.Version, Purl: purl(m.Path, m.Version)}
		if m.Sum == "" {
			return nil, fmt.Errorf("module %s was linked without a checksum", m.Path)
		}
		// The checksum of a module is that of a list of its files (Go modules reference, go.sum), not of one file, so that it
		// is no hash of the component in the sense of the format.
		if _, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(m.Sum, "h1:")); err != nil {
			return nil, fmt.Errorf("module %s: checksum %q: %w", m.Path, m.Sum, err)
		}
		p.Properties = []property{{"go:sum", m.Sum}}
		parts = append(parts, p)
	}
	slices.SortFunc(parts[1:], func(a, b component) int { return strings.Compare(a.Ref, b.Ref) })
	d := document{
		Schema: "http://cyclonedx.org/schema/bom-1.6.schema.json", Format: "CycloneDX", SpecVersion: "1.6",
		Serial: "urn:uuid:" + uuid(digest), Version: 1,
		Metadata:   metadata{Timestamp: at.UTC().Format(time.RFC3339), Component: program},
		Components: parts,
	}
	top := dependency{Ref: program.Ref}
	for _, p := range parts {
		top.DependsOn = append(top.DependsOn, p.Ref)
	}
	d.Dependencies = append(d.Dependencies, top)
	for _, p := range parts {
		d.Dependencies = append(d.Dependencies, dependency{Ref: p.Ref, DependsOn: []string{}})
	}
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(d)
	return out.Bytes(), err
}

// purl returns the package URL of a module (purl specification, type golang: the path in small letters, its parts escaped).
func purl(path, version string) string {
	parts := strings.Split(strings.ToLower(path), "/")
	for i, p := range parts {
		parts[i] = url.PathEscape(p)
	}
	return "pkg:golang/" + strings.Join(parts, "/") + "@" + url.PathEscape(version)
}

// uuid makes an identifier of the form for vendors (RFC 9562, version 8) out of a digest in hexadecimal digits, so that one program
// has one.
func uuid(digest string) string {
	d := []byte(digest[:32])
	d[12] = '8'
	d[16] = "89ab"[strings.IndexByte("0123456789abcdef", d[16])%4]
	return fmt.Sprintf("%s-%s-%s-%s-%s", d[:8], d[8:12], d[12:16], d[16:20], d[20:])
}
