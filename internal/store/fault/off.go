//go:build !fault

// Package fault names the bugs that the crash tests must catch and the points at which they kill the process.
//
// Without the build tag "fault" nothing is planted and no point does anything; the compiler leaves none of it in
// the program. With the tag, a test chooses one bug or one point by name.
package fault

// Planted reports whether the named bug is planted. It never is.
func Planted(string) bool { return false }

// Reach marks a point at which a test may end the process. It does nothing.
func Reach(string) {}
