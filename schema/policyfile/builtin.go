package policyfile

import (
	_ "embed" // for the presets
)

//go:embed builtin/metering.yaml
var meteringText []byte

//go:embed builtin/drive.yaml
var driveText []byte

//go:embed builtin/protection.yaml
var protectionText []byte

// Presets returns the names of the built-in standards, one for each class of
// channels.
func Presets() []string { return []string{"metering", "drive", "protection"} }

// Preset returns the text of a built-in standard, and false when there is none
// of that name. Callers must not write to it.
func Preset(name string) ([]byte, bool) {
	switch name {
	case "metering":
		return meteringText, true
	case "drive":
		return driveText, true
	case "protection":
		return protectionText, true
	}
	return nil, false
}

// builtInPath is how messages call a built-in standard.
func builtInPath(name string) string { return "built-in " + name }
