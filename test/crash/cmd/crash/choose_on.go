//go:build fault

package main

import "threshday/internal/store/fault"

func choose(bug, point string, n int) error {
	fault.Choose(bug, point, n)
	return nil
}
