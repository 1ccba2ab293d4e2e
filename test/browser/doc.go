// Package browser drives the program's own screen in a real Chromium, as a farm family would: the real binary serves
// a real data file, and nothing is stood in for. Its tests need Chromium and the tag browser:
//
//	go test -tags browser ./test/browser
package browser
