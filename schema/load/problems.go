package load

import (
	"cmp"
	"slices"

	"busgauss/model/finding"
	"busgauss/schema/node"
)

// The rules of the loader.
const (
	ruleUnknownKey = "key-unknown"
	ruleMissing    = "key-missing"
	ruleForm       = "value-form"
	ruleQuantity   = "value-quantity"
	ruleRange      = "value-range"
	ruleUnknownID  = "id-unknown"
	ruleTaken      = "id-taken"
	ruleOutline    = "outline-shape"
)

// Problems describes every rule that Load can report, sorted by identifier,
// those of the text of the file among them.
func Problems() []finding.Description {
	own := []finding.Description{
		{
			ID: ruleUnknownKey, Title: "key that the layout format does not have",
			Full: "A key stands where the layout format, version 1, has no such key. The nearest known key is offered and the known ones are listed. A slip of the pen would otherwise leave a value out in silence.",
			Help: "Asks whether every key is one of the published schema. The nearest key is the one with the fewest letters changed, put in, left out or swapped, three at most. Not seen: a key that is known but not the one meant.",
		},
		{
			ID: ruleMissing, Title: "key that the layout format demands",
			Full: "An object lacks a key that it must have, or has none of several keys of which it needs one. The place is the key of the object.",
			Help: "Asks whether every object has the keys that the format demands. A value that was left out is never guessed; where the format has a default, the default is listed as assumed instead.",
		},
		{
			ID: ruleForm, Title: "value of the wrong form",
			Full: "A value is of another kind than the format demands (text, number, list, mapping, one word of a set), or in a form that YAML readers disagree about (octal, infinite, foreign tags), or keys stand together that exclude each other, such as two ways to say one current, or bars stand in circuits that disagree.",
			Help: "Asks for kind and choice of values. A direct current is said with dc, an alternating one with rms or peak and needs the duty's frequency; both may flow together. true and false are the only truth values.",
		},
		{
			ID: ruleQuantity, Title: "number or unit that cannot be read",
			Full: "A quantity has no unit, a unit of another dimension, or a number in a form that is read differently by different programs. Units that would do are named.",
			Help: "A quantity is a number, one space and a unit. A bare number is refused except where the quantity is a pure number. Unit symbols and prefixes after BIPM, The International System of Units, 9th edition; mil, in and G are taken as well.",
		},
		{
			ID: ruleRange, Title: "number outside its possible range",
			Full: "A number is of the right kind but impossible or beyond what the program computes: a width of zero, a permeability below one, a magnetisation curve that falls, a temperature below absolute zero.",
			Help: "Each message says the range. Limits come from definitions (absolute zero -273.15 °C), from the format (overvoltage category 1 to 4 of IEC 60664-1), from physics (copper melts at 1084.62 °C) or from the reach of the program (1 MHz). Not seen: possible values that are unlikely.",
		},
		{
			ID: ruleUnknownID, Title: "name that nothing in the file has",
			Full: "A reference names an object that the file does not have. The nearest name is offered and those that exist are listed. An object that is itself broken still counts as known.",
			Help: "Asks whether the bars, shields, materials, parts and sensors that are referred to exist. Built-in metals are copper, aluminium and brass.",
		},
		{
			ID: ruleTaken, Title: "name that is used twice",
			Full: "Two objects of a file have one name, or an object has a reserved name. Findings are told apart by names, so names are unique over bars, circuits, shields, materials, sensors, parts, duties, wires and magnets. The first holder is the related place.",
			Help: "Names of built-in metals cannot be declared again, and no sensor can be called all.",
		},
		{
			ID: ruleOutline, Title: "outline that is no simple polygon",
			Full: "An outline has fewer than three corners, repeats a corner, has no area, or crosses or touches itself; both edges are named. The sense of the corners does not matter.",
			Help: "Edge n runs from corner n to the next one, the last edge back to corner 1. Fields of polygons hold for simple polygons only.",
		},
	}
	for i := range own {
		own[i].Level = finding.Error
	}
	all := own
	for _, d := range node.Problems() {
		// The text of a value can be of the wrong form as well as the value.
		if !slices.ContainsFunc(own, func(o finding.Description) bool { return o.ID == d.ID }) {
			all = append(all, d)
		}
	}
	slices.SortFunc(all, func(a, b finding.Description) int { return cmp.Compare(a.ID, b.ID) })
	return all
}
