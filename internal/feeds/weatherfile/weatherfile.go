// Package weatherfile reads recorded weather from files, also gzipped: plain CSV with a header, hours or days, and what the US
// national archive serves: ISD-Lite, Local Climatological Data, and GHCN-Daily in its three forms. It turns what stands there
// into a [weather.Series] of the farm's quantities and reports what the file did not have and what was put in its place.
//
// A file is taken whole or refused whole. A refusal is a [problem.InputError], or several, each naming the
// file, the line and the column. Nothing is guessed about units: they stand in the column's name.
//
// It leaves out forecasts and the archives' other formats. docs/reference/weather-files.md describes the formats for the
// people who make such files. [isd-lite] [ghcn-daily] [noaa-lcd]
package weatherfile

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

// Options are what the file does not say itself.
type Options struct {
	// Strict refuses what a record may have and a single run may not: unknown columns, missing hours, hours
	// given twice or out of order, empty cells. Whole columns that are missing are still filled and reported.
	Strict bool
	// Zone is the clock of time_local. Nil: the file must have utc_offset_h, or Offset is set.
	Zone *time.Location
	// Offset is the fixed clock of time_local and time_lst, ahead of UTC; a column utc_offset_h wins over it.
	Offset *time.Duration
	// Stamp says which hour a row's rain and radiation are of. It does nothing to ISD-Lite, which says so itself.
	Stamp Stamp
	// Station is where and how it was measured. Its Standard is set from the file's clock.
	Station weather.Station
}

// A Stamp says how the hour of a total or mean lies to the time of its row.
type Stamp uint8

// The stamps. Temperature, dew point, wind and cloud are taken at the time itself with all three.
const (
	Starts Stamp = iota // the hour begins at the time
	Ends                // it ends at the time
	Middle              // the time is its middle: a cell gets half of its own row's and half of the next row's
)

// A Report says what became of a file.
type Report struct {
	File     string
	Format   string // "plain CSV", "ISD-Lite", "GHCN-Daily", ...
	Rows     int    // rows with data
	Start    calendar.Hour
	End      calendar.Hour     // after the last hour
	Filled   []weather.Filling // what was not in the file and what stands in for it
	Missing  [weather.NVar]int // hours that are still missing, by quantity
	Findings []problem.Finding // what was used with a doubt, or not used
}

// largestFile is the most a file may hold once unpacked: two hundred years of hours. It keeps a damaged or
// malicious archive from filling the memory.
const largestFile = 128 << 20

// A record spans at most largestSpan hours, and beyond a year at least one hour in sparsest must have a row: a
// mistyped year must not make a series of ten thousand, nor one of holes.
const (
	hoursOfYear = 8766
	largestSpan = 200 * hoursOfYear
	sparsest    = 20
)

// Open reads a file of any of the formats, gzipped or not, whatever its name ends in.
func Open(path string, o Options) (*weather.Series, Report, error) {
	f, err := os.Open(path) //nolint:gosec // the path is the user's own
	if err != nil {
		return nil, Report{}, fmt.Errorf("read weather: %w", err)
	}
	defer func() { _ = f.Close() }() // only read: nothing is lost when closing goes wrong
	return Read(f, filepath.Base(path), o)
}

// Read reads weather of any of the formats, gzipped or not; name is what messages call it.
func Read(r io.Reader, name string, o Options) (*weather.Series, Report, error) {
	text, err := unpack(r, name, largestFile)
	if err != nil {
		return nil, Report{}, err
	}
	if len(bytes.TrimSpace(text)) == 0 {
		return nil, Report{}, &problem.InputError{
			Rule: "weather.empty", Label: "weather file", Got: "empty", Want: "a header and hourly rows", Where: problem.Place{File: name},
		}
	}
	if looksLikeISDLite(text) {
		return readISDLite(text, name, o)
	}
	if looksLikeLCD(text) {
		return readLCD(text, name, o)
	}
	if s, rep, err, ok := readDays(text, name, o); ok {
		return s, rep, err
	}
	return readCSV(text, name, o)
}

// unpack returns all the text, up to limit bytes of it, without gzip and without a byte order mark.
func unpack(r io.Reader, name string, limit int) ([]byte, error) {
	raw, err := io.ReadAll(io.LimitReader(r, int64(limit)+1))
	if err != nil {
		return nil, fmt.Errorf("read weather from %s: %w", name, err)
	}
	if bytes.HasPrefix(raw, []byte{0x1f, 0x8b}) {
		if raw, err = gunzip(raw, name, limit); err != nil {
			return nil, err
		}
	}
	if len(raw) > limit {
		return nil, &problem.InputError{
			Rule: "weather.size", Label: "weather file", Got: fmt.Sprintf("more than %d MB", limit>>20),
			Want: "up to 200 years of hours", Where: problem.Place{File: name}, Next: "Split it by years.",
		}
	}
	return bytes.TrimPrefix(raw, []byte("\xef\xbb\xbf")), nil
}

func gunzip(raw []byte, name string, limit int) ([]byte, error) {
	broken := func(err error) error {
		got := "damaged"
		if errors.Is(err, io.ErrUnexpectedEOF) {
			got = "cut short"
		}
		return &problem.InputError{
			Rule: "weather.gzip", Label: "compressed file", Got: got, Want: "a whole gzip file",
			Where: problem.Place{File: name}, Next: "Fetch or copy it again.",
		}
	}
	z, err := gzip.NewReader(bytes.NewReader(raw))
	if err != nil {
		return nil, broken(err)
	}
	var out bytes.Buffer
	out.Grow(unpackedSize(raw))
	if _, err := io.Copy(&out, io.LimitReader(z, int64(limit)+1)); err != nil {
		return nil, broken(err)
	}
	return out.Bytes(), nil
}

// unpackedSize returns the size that a gzip file claims in its last four bytes, held within reason, so that
// the text is not copied as it grows.
func unpackedSize(raw []byte) int {
	if len(raw) < 4 {
		return 0
	}
	end := raw[len(raw)-4:]
	claimed := int(end[0]) | int(end[1])<<8 | int(end[2])<<16 | int(end[3])<<24
	return min(claimed, 32<<20, 64*len(raw)) + 512 // room for the last read, or the buffer doubles for nothing
}

// build turns what was measured into the answer.
func build(m *weather.Measured, o Options, rep Report) (*weather.Series, Report, error) {
	s, filled := m.Series(o.Station)
	rep.Start, rep.End, rep.Filled = s.Start, s.End(), filled
	for v := range s.From {
		for _, from := range s.From[v] {
			if from == weather.Missing {
				rep.Missing[v]++
			}
		}
	}
	return s, rep, nil
}

// counted returns "1 hour" or "2 hours".
func counted(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

// standard returns the standard time of the station's place, ahead of UTC.
func (o Options) standard() time.Duration {
	switch {
	case o.Offset != nil:
		return *o.Offset
	case o.Zone != nil:
		_, seconds := time.Date(2001, 1, 1, 0, 0, 0, 0, o.Zone).Zone() // standard time north of the equator
		return time.Duration(seconds) * time.Second
	case o.Station.At != nil:
		return (time.Duration(o.Station.At.Lon/15*3600) * time.Second).Round(time.Hour)
	}
	return centralStandard
}

// centralStandard is the clock of the middle of the US grain belt, for a file in UTC of which nothing is known.
const centralStandard = -6 * time.Hour

// Errors of a file are collected up to mostErrors: a person mends the first few and sees the pattern.
const mostErrors = 20

// A refusal collects what is wrong with a file.
type refusal struct {
	file string
	list problem.InputErrors
}

func (r *refusal) add(line int, column string, e problem.InputError) {
	e.Where = problem.Place{File: r.file, Line: line}
	if column != "" {
		e.Where.Path = "column " + column
	}
	r.list = append(r.list, &e)
}

// span checks the time between the first hour and the last, of which rows hours are there.
func (r *refusal) span(column string, start, end calendar.Hour, rows int) {
	hours := int(end - start)
	if hours <= largestSpan && (hours <= hoursOfYear || hours <= sparsest*rows) {
		return
	}
	r.add(0, column, problem.InputError{
		Rule: "weather.time.span", Label: "time from first to last row",
		Got:  fmt.Sprintf("%s to %s", start.Start().Format(time.DateOnly), end.Start().Format(time.DateOnly)),
		Want: fmt.Sprintf("at most 200 years, and a row for one hour in %d at least", sparsest), Next: "Look for a mistyped year.",
	})
}

func (r *refusal) full() bool { return len(r.list) >= mostErrors }
