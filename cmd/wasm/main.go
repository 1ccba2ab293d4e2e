//go:build js && wasm

// Command wasm is the part of the program that runs on a device, in the browser: the pencils, the settlement of one load
// and a schedule read back, from the same code as on the command line. It sets globalThis.threshday; docs/reference/http.md says what that answers.
package main

import (
	"syscall/js"
	_ "time/tzdata" // the sun's pencil names zones

	"threshday/docs"
	"threshday/internal/device"
	"threshday/internal/pencil"
)

// version is set by the release build.
var version = "development"

func main() {
	all := docs.Sources()
	d := device.New(version, func(key string) (pencil.Source, bool) {
		s, ok := all[key]
		return pencil.Source{Key: s.Key, Title: s.Title, Publisher: s.Publisher, Year: s.Year, How: s.How}, ok
	})
	js.Global().Set("threshday", js.ValueOf(map[string]any{
		"pencil": function(d.Pencil), "settle": function(d.Settle), "schedule": function(d.Schedule), "paste": function(d.Paste),
		"pencils":  function(func(...string) string { return d.Pencils() }),
		"examples": function(func(...string) string { return d.Examples() }),
		"version":  function(func(...string) string { return d.Version() }),
	}))
	select {}
}

// function turns a function of texts into one of the browser.
func function(f func(args ...string) string) js.Func {
	return js.FuncOf(func(_ js.Value, args []js.Value) any {
		texts := make([]string, len(args))
		for i, a := range args {
			texts[i] = a.String()
		}
		return f(texts...)
	})
}
