package cli

import (
	"fmt"
	"io"
	"strings"

	"github.com/alecthomas/kong"
)

// A shell is one whose completions we write.
type shell string

var shells = []string{"bash", "zsh", "fish"}

type completionCmd struct {
	Shell shell `arg:"" optional:"" need:"" help:"The shell."`
}

// Explain says how to use what is printed.
func (completionCmd) Explain() string {
	return "For bash: `source <(threshday completion bash)`; the same line with zsh for zsh; " +
		"for fish: `threshday completion fish | source`. Put the line where your shell reads it at start."
}

// Examples returns command lines to try.
func (completionCmd) Examples() []string { return []string{"completion bash"} }

// Run prints the script.
func (c *completionCmd) Run(s *session) error {
	w := new(strings.Builder)
	switch c.Shell {
	case "fish":
		s.fishCompletion(w)
	case "zsh":
		fmt.Fprintln(w, "autoload -U +X compinit && compinit\nautoload -U +X bashcompinit && bashcompinit")
		s.bashCompletion(w)
	default:
		s.bashCompletion(w)
	}
	_, err := io.WriteString(s.Stdout, w.String())
	return err
}

// bashCompletion writes a function that walks the words typed so far down the tree of commands and then offers what
// may follow there.
func (s *session) bashCompletion(w *strings.Builder) {
	var steps, values, words strings.Builder
	walk(s.model.Node, func(n *kong.Node) {
		pg := s.pageOf(n)
		at := n.Path()
		if n != s.model.Node {
			fmt.Fprintf(&steps, "      %q) at=%q ;;\n", n.Parent.Path()+"|"+n.Name, at)
		}
		var offered []string
		for _, c := range pg.commands {
			offered = append(offered, c.name)
		}
		for _, a := range pg.args {
			offered = append(offered, a.choices...)
		}
		for _, f := range append(pg.flags[:len(pg.flags):len(pg.flags)], pg.shared...) {
			offered = append(offered, "--"+f.flag)
			switch {
			case len(f.choices) > 0:
				fmt.Fprintf(&values, "    %q) COMPREPLY=($(compgen -W %q -- \"$cur\")); return ;;\n", at+"|--"+f.flag, strings.Join(f.choices, " "))
			case f.file:
				fmt.Fprintf(&values, "    %q) COMPREPLY=($(compgen -f -- \"$cur\")); return ;;\n", at+"|--"+f.flag)
			case f.value:
				fmt.Fprintf(&values, "    %q) COMPREPLY=(); return ;;\n", at+"|--"+f.flag)
			}
		}
		fmt.Fprintf(&words, "    %q) COMPREPLY=($(compgen -W %q -- \"$cur\")) ;;\n", at, strings.Join(offered, " "))
	})
	fmt.Fprintf(w, `_threshday() {
  local cur="${COMP_WORDS[COMP_CWORD]}" prev="${COMP_WORDS[COMP_CWORD-1]}" at="" i
  for ((i = 1; i < COMP_CWORD; i++)); do
    case "$at|${COMP_WORDS[i]}" in
%s    esac
  done
  case "$at|$prev" in
%s  esac
  case "$at" in
%s  esac
}
complete -o default -F _threshday threshday
`, steps.String(), values.String(), words.String())
}

// fishCompletion writes one line per command and flag, each bound to the commands before it.
func (s *session) fishCompletion(w *strings.Builder) {
	fmt.Fprint(w, `function __threshday_at
  set -l words (commandline -opc)
  set -e words[1]
  set -l at
  for word in $words
    string match -q -- '-*' $word; or set -a at $word
  end
  string match -q -- "$argv*" "$at"
end
`)
	walk(s.model.Node, func(n *kong.Node) {
		pg := s.pageOf(n)
		at := "__threshday_at " + n.Path()
		if n == s.model.Node {
			at = "__fish_use_subcommand"
		}
		for _, c := range pg.commands {
			fmt.Fprintf(w, "complete -c threshday -f -n %s -a %s -d %s\n", fishQuote(at), c.name, fishQuote(c.help))
		}
		for _, f := range pg.flags {
			line := fmt.Sprintf("complete -c threshday -n %s -l %s", fishQuote(at), f.flag)
			switch {
			case len(f.choices) > 0:
				line += " -x -a " + fishQuote(strings.Join(f.choices, " "))
			case f.file:
				line += " -r"
			case f.value:
				line += " -x"
			}
			fmt.Fprintf(w, "%s -d %s\n", line, fishQuote(f.help))
		}
	})
}

func fishQuote(s string) string {
	return "'" + strings.NewReplacer(`\`, `\\`, "'", `\'`).Replace(s) + "'"
}
