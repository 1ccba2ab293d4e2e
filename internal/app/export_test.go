package app

import (
	"context"

	"threshday/internal/core/worth"
)

// BuildOf returns what the plan of a request stands on, for tests outside the package.
func (a *App) BuildOf(ctx context.Context, r PlanRequest) (*worth.Build, error) {
	mo, err := a.morning(ctx, r)
	if err != nil {
		return nil, err
	}
	return mo.build, nil
}
