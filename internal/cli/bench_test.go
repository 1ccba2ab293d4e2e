package cli_test

import "testing"

func BenchmarkPencil(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if r := run("", "pencil", "shrink", "--from", "19.3", "--to", "15"); r.code != 0 {
			b.Fatal(r.stderr)
		}
	}
}
