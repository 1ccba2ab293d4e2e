// Package rules tests the rules of the project that the compiler does not know: which package may import which,
// that core is pure, that every citation resolves.
package rules

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const root = "../.."

// coreOrder lists the core packages; each may import only those before it.
var coreOrder = []string{
	"problem", "units", "calendar", "trade", "crop", "moisture", "weather", "drydown", "ground", "loss", "capacity", "hauling",
	"storage", "estimate", "land", "farm", "journal", "settlement", "market", "ledger", "worth", "linear", "scenario", "lookahead", "planner",
}

// coreStd is what core may import of the standard library. To widen it, write a decision record.
var coreStd = []string{
	"bytes", "cmp", "context", "crypto/sha256", "embed", "encoding/binary", "encoding/hex", "encoding/json", "errors",
	"fmt", "iter", "maps", "math", "math/bits", "math/cmplx", "slices", "sort", "strconv", "strings", "sync", "sync/atomic", "time", "unicode", "unicode/utf8",
}

// coreForbidden are selectors that would let core reach for the clock, chance or a zone by itself.
var coreForbidden = map[string][]string{
	"time": {"Now", "Since", "Until", "After", "AfterFunc", "NewTimer", "NewTicker", "Tick", "Sleep", "LoadLocation", "Local"},
	"fmt":  {"Print", "Println", "Printf"},
}

func goFiles(t *testing.T, under string) []string {
	t.Helper()
	var out []string
	err := filepath.WalkDir(filepath.Join(root, under), func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "node_modules" || d.Name() == ".cache" || d.Name() == "dist" || (strings.HasPrefix(d.Name(), ".") && len(d.Name()) > 2)) {
			return filepath.SkipDir
		}
		if strings.HasSuffix(path, ".go") {
			out = append(out, path)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func parse(t *testing.T, path string) *ast.File {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func importsOf(f *ast.File) []string {
	var out []string
	for _, i := range f.Imports {
		p, _ := strconv.Unquote(i.Path.Value)
		out = append(out, p)
	}
	return out
}

func TestCoreIsPureAndKeepsItsOrder(t *testing.T) {
	files := goFiles(t, "internal/core")
	if len(files) == 0 {
		t.Fatal("no files under internal/core")
	}
	for _, path := range files {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		rel, _ := filepath.Rel(filepath.Join(root, "internal/core"), path)
		pkg := strings.Split(filepath.ToSlash(rel), "/")[0]
		rank := slices.Index(coreOrder, pkg)
		if rank < 0 {
			t.Errorf("%s: package %s has no place in the order of core", rel, pkg)
			continue
		}
		f := parse(t, path)
		for _, imp := range importsOf(f) {
			switch other, inCore := strings.CutPrefix(imp, "threshday/internal/core/"); {
			case inCore:
				other = strings.Split(other, "/")[0]
				if r := slices.Index(coreOrder, other); r > rank || (r == rank && other != pkg) {
					t.Errorf("%s imports %s, which stands after it", rel, other)
				}
				if pkg == "planner" && other == "ledger" {
					t.Errorf("%s: planner and ledger never import each other", rel)
				}
			case strings.HasPrefix(imp, "gonum.org/v1/gonum/"):
			case slices.Contains(coreStd, imp):
			default:
				t.Errorf("%s imports %s, which core may not", rel, imp)
			}
		}
		ast.Inspect(f, func(n ast.Node) bool {
			sel, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if id, ok := sel.X.(*ast.Ident); ok && slices.Contains(coreForbidden[id.Name], sel.Sel.Name) {
				t.Errorf("%s uses %s.%s", rel, id.Name, sel.Sel.Name)
			}
			return true
		})
	}
}

// edges says which layers may import which of the others.
func TestLayersImportDownwardOnly(t *testing.T) {
	may := map[string][]string{
		"core":     {"core"},
		"words":    {},
		"document": {"core"},
		"flags":    {"core", "words", "flags", "feeds/quantity"},
		"pencil":   {"core", "words", "document", "flags", "pencil", "feeds/quantity"},
		"device":   {"core", "words", "document", "flags", "pencil", "device", "feeds/boundaryfile", "feeds/schedulefile", "feeds/scheduletoml"},
		"store":    {"core", "store"},
		"feeds":    {"core", "feeds"},
		"demo":     {},
		"app":      {"core", "store", "app", "words"},
		"answer":   {"core", "app", "answer", "document", "words", "feeds/quantity"},
		"web":      {"core", "app", "answer", "words", "web", "feeds/quantity"},
		"cli":      {"core", "app", "answer", "document", "words", "flags", "pencil", "web", "cli", "feeds/quantity"},
	}
	for _, path := range goFiles(t, "internal") {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		rel, _ := filepath.Rel(filepath.Join(root, "internal"), path)
		layer := strings.Split(filepath.ToSlash(rel), "/")[0]
		allowed, known := may[layer]
		if !known {
			t.Errorf("%s: layer %s is not one of ours", rel, layer)
			continue
		}
		for _, imp := range importsOf(parse(t, path)) {
			other, ours := strings.CutPrefix(imp, "threshday/internal/")
			if !ours {
				if strings.HasPrefix(imp, "threshday/") {
					t.Errorf("%s imports %s: nothing imports a command", rel, imp)
				}
				continue
			}
			if !slices.ContainsFunc(allowed, func(a string) bool { return other == a || strings.HasPrefix(other, a+"/") }) {
				t.Errorf("%s imports %s; %s may import only %v", rel, imp, layer, allowed)
			}
		}
	}
}
