package cli

import (
	"context"
	"io"

	"github.com/alecthomas/kong"
)

// A CommandFlag is a flag of a command as its page tells it.
type CommandFlag struct {
	Name    string // "--temp"
	Example string // "--temp 77F", as help shows it
	Needed  bool
	Value   bool
	List    bool
}

// CommandFlags returns the flags of every command that answers, by its path without the program's name.
func CommandFlags() map[string][]CommandFlag {
	s := &session{Env: &Env{Stdout: io.Discard, Stderr: io.Discard}, ctx: context.Background()}
	s.parser(new(root))
	out := map[string][]CommandFlag{}
	walk(s.model.Node, func(n *kong.Node) {
		if len(n.Children) > 0 {
			return
		}
		for _, f := range n.Flags {
			out[n.Path()] = append(out[n.Path()], CommandFlag{
				Name: "--" + f.Name, Example: s.entryOf(f.Value).name,
				Needed: f.Tag.Has("need"), Value: !f.IsBool(), List: f.IsCumulative(),
			})
		}
	})
	return out
}
