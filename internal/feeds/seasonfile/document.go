package seasonfile

import (
	"errors"

	"github.com/pelletier/go-toml/v2/unstable"
)

// A form is what a value looks like in the file.
type form uint8

const (
	aTable form = iota
	aList
	aText
	aNumber
	aBool
	aDate     // local date
	aClock    // local time
	aWallTime // local date and time
	anInstant // date and time with offset
)

// A node is one value of the file with the place it stands at.
type node struct {
	form    form
	offset  int    // where the value begins; of a table with a header, where the header's last key begins
	key     int    // where the key that names it begins
	text    string // of a text, what is inside the quotes; of other scalars, as written
	entries []entry
	index   map[string]int // position in entries, once there are many
	items   []*node
	again   []repeat // keys of this table that were given more than once
	refused bool     // an error has been reported for it
	meant   []string // keys of this table that were likely meant by keys it does not know

	// How TOML allows a table or a list to be continued.
	headed  bool // a table by [name], a list by [[name]]
	dotted  bool // a table by a dotted key
	written bool // a value in braces or brackets: complete where it stands
}

// An entry is a key of a table and its value.
type entry struct {
	name string
	node *node
}

// A repeat is a key given again in the same table.
type repeat struct {
	name   string
	first  *node
	again  *node
	header bool // the repetition is a [name] or [[name]]
}

// child returns the value of a key, or nil.
func (n *node) child(name string) *node {
	if n.index != nil {
		if i, ok := n.index[name]; ok {
			return n.entries[i].node
		}
		return nil
	}
	for _, e := range n.entries {
		if e.name == name {
			return e.node
		}
	}
	return nil
}

// fewEntries is how many keys of a table are searched one by one before an index pays.
const fewEntries = 32

func (n *node) add(name string, child *node) {
	n.entries = append(n.entries, entry{name, child})
	if n.index == nil && len(n.entries) > fewEntries {
		n.index = map[string]int{}
		for i, e := range n.entries {
			n.index[e.name] = i
		}
	} else if n.index != nil {
		n.index[name] = len(n.entries) - 1
	}
}

// maxDepth is how deep lists and tables may stand in one another; a boundary needs four levels.
const maxDepth = 16

// errTooDeep says that a value is nested deeper than maxDepth.
var errTooDeep = errors.New("nested too deeply")

// A document builds the tree of a file. It keeps the rules of TOML on continuing tables; a key that breaks them
// is noted as a repeat and its value set aside.
type document struct {
	parser  unstable.Parser
	root    *node
	current *node // the table that key-value lines belong to
}

// parse returns the tree of src as far as it can be read. The error, if any, is an [*unstable.ParserError] or
// errTooDeep, and stop is the offset where reading ended.
func parse(src []byte) (root *node, stop int, err error) {
	d := document{root: &node{form: aTable}}
	d.current = d.root
	d.parser.Reset(src)
	for d.parser.NextExpression() {
		e := d.parser.Expression()
		switch e.Kind {
		case unstable.Table, unstable.ArrayTable:
			keys := e.Key()
			keys.Next()
			if _, at := d.name(keys.Node()); !d.header(e, e.Kind == unstable.ArrayTable) {
				return d.root, at, errTooDeep
			}
		case unstable.KeyValue:
			if err := d.assign(d.current, e, 0); err != nil {
				return d.root, int(e.Raw.Offset), err
			}
		default: // remarks are not kept by the parser, and no other kind stands by itself
		}
	}
	err = d.parser.Error()
	var wrong *unstable.ParserError
	if errors.As(err, &wrong) {
		stop = int(d.parser.Range(wrong.Highlight).Offset)
	}
	return d.root, stop, err
}

// header opens the table of a [name] or [[name]] line, unless the name has too many parts.
func (d *document) header(e *unstable.Node, list bool) (ok bool) {
	parent := d.root
	keys := e.Key()
	keys.Next()
	for depth := 1; !keys.IsLast(); keys.Next() {
		if depth++; depth > maxDepth {
			return false
		}
		name, at := d.name(keys.Node())
		next := parent.child(name)
		switch {
		case next == nil:
			next = &node{form: aTable, offset: at, key: at}
			parent.add(name, next)
		case next.form == aList && next.headed:
			next = next.items[len(next.items)-1]
		case next.form != aTable || next.written:
			aside := &node{form: aTable, offset: at, key: at}
			parent.again = append(parent.again, repeat{name, next, aside, true})
			next = aside
		}
		parent = next
	}
	name, at := d.name(keys.Node())
	d.current = &node{form: aTable, offset: at, key: at, headed: true}
	known := parent.child(name)
	switch {
	case known == nil && list:
		parent.add(name, &node{form: aList, offset: at, key: at, headed: true, items: []*node{d.current}})
	case known == nil:
		parent.add(name, d.current)
	case list && known.form == aList && known.headed:
		known.items = append(known.items, d.current)
	case !list && known.form == aTable && !known.headed && !known.dotted && !known.written:
		known.headed, known.offset, known.key = true, at, at // so far only tables inside it were opened
		d.current = known
	default:
		parent.again = append(parent.again, repeat{name, known, d.current, true})
	}
	return true
}

// assign puts the value of a key-value into table.
func (d *document) assign(table *node, e *unstable.Node, depth int) error {
	keys := e.Key()
	keys.Next()
	for ; !keys.IsLast(); keys.Next() {
		if depth++; depth > maxDepth {
			return errTooDeep
		}
		name, at := d.name(keys.Node())
		next := table.child(name)
		if next == nil || next.form != aTable || !next.dotted {
			fresh := &node{form: aTable, offset: at, key: at, dotted: true}
			if next == nil {
				table.add(name, fresh)
			} else {
				table.again = append(table.again, repeat{name, next, fresh, false})
			}
			next = fresh
		}
		table = next
	}
	name, at := d.name(keys.Node())
	value, err := d.value(e.Value(), d.afterEquals(keys.Node()), depth)
	if err != nil {
		return err
	}
	value.key = at
	if first := table.child(name); first != nil {
		table.again = append(table.again, repeat{name, first, value, false})
		return nil
	}
	table.add(name, value)
	return nil
}

// value turns a value of the parser, which begins at offset at unless it says otherwise, into a node.
func (d *document) value(v *unstable.Node, at, depth int) (*node, error) {
	if depth > maxDepth {
		return nil, errTooDeep
	}
	n := &node{offset: at, key: at, text: string(v.Data), written: true}
	if v.Raw.Length > 0 {
		n.offset, n.key = int(v.Raw.Offset), int(v.Raw.Offset)
	}
	switch v.Kind {
	case unstable.String:
		n.form = aText
	case unstable.Integer, unstable.Float:
		n.form = aNumber
	case unstable.Bool:
		n.form = aBool
	case unstable.LocalDate:
		n.form = aDate
	case unstable.LocalTime:
		n.form = aClock
	case unstable.LocalDateTime:
		n.form = aWallTime
	case unstable.DateTime:
		n.form = anInstant
	case unstable.Array:
		n.form = aList
		for items := v.Children(); items.Next(); {
			item, err := d.value(items.Node(), n.offset, depth+1)
			if err != nil {
				return nil, err
			}
			n.items = append(n.items, item)
		}
	case unstable.InlineTable:
		n.form = aTable
		for pairs := v.Children(); pairs.Next(); {
			if err := d.assign(n, pairs.Node(), depth+1); err != nil {
				return nil, err
			}
		}
		closeTables(n)
	default:
		panic("seasonfile: the parser gave a value of kind " + v.Kind.String())
	}
	return n, nil
}

// closeTables marks tables that dotted keys made inside braces as complete: nothing after the brace adds to them.
func closeTables(n *node) {
	for _, e := range n.entries {
		if e.node.dotted {
			e.node.dotted, e.node.written = false, true
			closeTables(e.node)
		}
	}
}

// name returns a key and where it begins.
func (d *document) name(key *unstable.Node) (name string, at int) {
	return string(key.Data), int(key.Raw.Offset)
}

// afterEquals returns where the value of a key begins: the parser gives lists no place of their own.
func (d *document) afterEquals(key *unstable.Node) int {
	src := d.parser.Data()
	at := int(key.Raw.Offset + key.Raw.Length)
	for at < len(src) && (src[at] == ' ' || src[at] == '\t' || src[at] == '=') {
		at++
	}
	return at
}
