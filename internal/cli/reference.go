package cli

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/alecthomas/kong"
)

// Reference returns the page docs/reference/cli.md: every command, flag and JSON key, from the tree of commands itself.
func Reference() string {
	s := &session{Env: &Env{Stdout: io.Discard, Stderr: io.Discard}, ctx: context.Background()}
	s.parser(new(root))
	w := new(strings.Builder)
	fmt.Fprintf(w, `# The command line

Made from the program's own tree of commands; do not edit: `+"`go test ./internal/cli -update`"+` writes it.

%s

Every command answers with `+"`--json`"+` in one JSON document on standard output and nothing else. Keys end in their unit.
Printed money, weights and prices are decimal strings; modelled money and physics are numbers, to six places. Times are
RFC 3339 with their offset. Amounts on flags carry their unit; a bare number is refused where two units are common.
A value that begins with a dash may stand after a space or an equals sign: `+"`--lon=-88.37`"+`.

Errors go to standard error, one sentence first; with `+"`--json`"+` as `+"`{\"error\":{\"rule\",\"severity\",\"label\",\"got\",\"want\",\"where\",\"say\",\"next\"}}`"+`,
and where several things are wrong with all of them in `+"`\"findings\"`"+` beside it.

| exit code | means |
| --- | --- |
`, purpose)
	for _, e := range exitCodes {
		fmt.Fprintf(w, "| %d | %s |\n", e.code, e.means)
	}
	walk(s.model.Node, func(n *kong.Node) {
		if n != s.model.Node {
			referenceOf(w, n.Depth(), s.pageOf(n))
		}
	})
	return w.String()
}

func referenceOf(w *strings.Builder, depth int, pg page) {
	fmt.Fprintf(w, "\n%s %s\n\n%s\n", strings.Repeat("#", 2+depth), pg.path, pg.summary)
	if pg.detail != "" {
		fmt.Fprintf(w, "\n%s\n", pg.detail)
	}
	if takes := append(pg.args[:len(pg.args):len(pg.args)], neededFirst(pg.flags)...); len(takes) > 0 {
		fmt.Fprint(w, "\n| takes | |\n| --- | --- |\n")
		for _, e := range takes {
			fmt.Fprintf(w, "| `%s` | %s |\n", e.name, cell(said(e)))
		}
	}
	if len(pg.keys) > 0 {
		fmt.Fprint(w, "\nAnswers with")
		for i, k := range pg.keys {
			sep := ","
			if i == 0 {
				sep = ""
			}
			fmt.Fprintf(w, "%s `%s` (%s)", sep, k.name, k.help)
		}
		fmt.Fprint(w, ".\n")
	}
	if len(pg.examples) > 0 {
		fmt.Fprint(w, "\n```sh\n")
		for _, l := range pg.examples {
			fmt.Fprintf(w, "threshday %s\n", l)
		}
		fmt.Fprint(w, "```\n")
	}
}

func cell(s string) string { return strings.ReplaceAll(s, "|", `\|`) }
