package cli

import (
	"reflect"
	"slices"

	"github.com/alecthomas/kong"

	"threshday/internal/core/problem"
	"threshday/internal/flags"
)

// The types of flags that pencils and the other commands share.
type (
	percent    = flags.Percent
	count      = flags.Count
	filename   = flags.Filename
	dataname   = flags.Dataname
	testWeight = flags.TestWeight
	wetBasis   = flags.WetBasis
	dollars    = flags.Dollars

	typeNote = flags.Note
)

// flagTypes returns the reader of every type that flags have, for the parser, and what help says of each. What stands on
// the command line is told to heard before it is read.
func flagTypes(heard func(label, text string)) (options []kong.Option, notes map[reflect.Type]typeNote) {
	set := flags.New(heard)
	flags.Add(set, flags.Quantity[ticketWeight]{
		Want: "whole pounds or whole kilograms as the scale printed them, as 78460lb or 35590kg", Example: "78460lb",
		Read: func(label, text string, _ *kong.Tag) (ticketWeight, error) { return readTicketWeight(label, text) },
	})
	flags.Add(set, flags.Quantity[shell]{Want: oneOf(shells), Example: "bash", Read: readShell, Choices: shells})
	return set.Options, set.Notes
}

func readShell(label, text string, _ *kong.Tag) (shell, error) {
	if !slices.Contains(shells, text) {
		return "", &problem.InputError{Rule: "shell.unknown", Label: label, Got: text, Want: oneOf(shells)}
	}
	return shell(text), nil
}

func labelOf(v *kong.Value) string { return flags.LabelOf(v) }

func cropNames() []string { return flags.CropNames() }
