package seasonfile

import "strings"

// nearest returns the one of names that word most likely misspells or cuts short, or "" when none is near. Near is at
// most one slip in three letters and at most three: a letter left out, added, changed, or two swapped.
func nearest(word string, names []string) string {
	word = strings.ToLower(word)
	most := min(3, max(1, len(word)/3))
	best := ""
	for _, name := range names {
		if len(word) >= 3 && strings.HasPrefix(strings.ToLower(name), word) {
			best = name
			break
		}
	}
	for _, name := range names {
		lower := strings.ToLower(name)
		if d := len(lower) - len(word); d > most || -d > most {
			continue
		}
		if n := slips(word, lower); n <= most {
			best, most = name, n-1
		}
	}
	return best
}

// slips returns the optimal string alignment distance of two words, in bytes.
func slips(a, b string) int {
	// Three rows of the table suffice: a swap looks two rows back.
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range row {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
