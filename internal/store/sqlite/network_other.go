//go:build !linux

package sqlite

// NetworkOf does not know the file systems of this operating system and answers for none.
func NetworkOf(string) (name string, ok bool) { return "", false }
