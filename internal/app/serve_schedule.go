package app

import (
	"context"
	"fmt"
	"path/filepath"

	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
)

// A NewSchedule is what an outlet posts for a crop from now on, as the text of a schedule file.
type NewSchedule struct {
	Outlet string
	Crop   crop.Kind
	Text   string
}

// handSchedule keeps a schedule beside the data file and names it in the season. The file that was named before stays where it is,
// for the entries before this one name it. The new file is on the disk before the entry that names it.
func (a *App) handSchedule(ctx context.Context, data string, sign Signed, n NewSchedule) (*Entered, error) {
	a.placing.Lock()
	defer a.placing.Unlock()
	if err := a.checkSchedule(n); err != nil {
		return nil, err
	}
	files, _, err := a.Files(data)
	if err != nil {
		return nil, err
	}
	var name string
	fresh := false
	change := func(text string) (string, error) {
		file, err := a.ParseSeason("the season", []byte(text))
		if err != nil {
			return "", err
		}
		o, err := outletOf(file.Season, n.Outlet)
		if err != nil {
			return "", err
		}
		if name, fresh, err = scheduleName(files, o.ID, n.Crop, []byte(n.Text)); err != nil {
			return "", err
		}
		if o.Schedules == nil {
			o.Schedules = map[crop.Kind]string{}
		}
		o.Schedules[n.Crop] = name
		return string(a.WriteSeason(file.Season)), nil
	}
	return a.handSeason(ctx, data, sign, change, func() error {
		if !fresh {
			return nil
		}
		return a.Place(filepath.Join(filepath.Dir(data), filepath.FromSlash(name)), []byte(n.Text))
	})
}

func outletOf(s *farm.Season, id string) (*farm.Outlet, error) {
	for i := range s.Outlets {
		if s.Outlets[i].ID == id {
			return &s.Outlets[i], nil
		}
	}
	return nil, &problem.InputError{Rule: "outlet.unknown", Label: "Outlet", Got: id, Want: "an outlet of the season", Where: problem.Place{Path: "outlet"}}
}

// checkSchedule refuses a text that settles no load of the crop.
func (a *App) checkSchedule(n NewSchedule) error {
	schedule, err := a.ParseSchedule("schedule", []byte(n.Text))
	if err != nil {
		return err
	}
	if schedule.Crop != n.Crop {
		return &problem.InputError{
			Rule: "schedule.crop", Label: "Crop", Got: schedule.Crop.String(), Want: fmt.Sprintf("%s, for which it is to be kept", n.Crop), Where: problem.Place{Path: "crop"},
		}
	}
	_, _, err = settlement.Prepare(schedule)
	return err
}
