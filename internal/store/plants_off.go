//go:build !fault

package store

import (
	"context"

	"threshday/internal/core/journal"
)

// What the planted bugs need has no place in the program; package fault never asks for it.

func (s *Store) later(journal.Event) bool { return false }

func (s *Store) projectLater(context.Context) error { return nil }

func (s *Store) overwrite(context.Context, journal.Event) error { return nil }

func (s *Store) unlinkLog() error { return nil }
