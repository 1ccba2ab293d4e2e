package store

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/journal"
	"threshday/internal/core/weather"
)

// A Forecast is what a service said of the days ahead of a place when it was received.
type Forecast struct {
	Source         string
	LatE4, LonE4   int64 // ten-thousandths of a degree
	Made, Received time.Time
	Days           []weather.Ahead // Late is not kept: it is of the moment at which a forecast is used
}

// withWeather is the schema from which on a file keeps weather.
const withWeather = 3

// keepsWeather reports whether the file has the tables of weather: one of an older version that was opened to be read only
// has none.
func (s *Store) keepsWeather(ctx context.Context) (bool, error) {
	v, err := versionOf(ctx, s.reads)
	return v.schema >= withWeather, s.explain("look for weather", err)
}

// alone runs work in a transaction of its own.
func (s *Store) alone(ctx context.Context, work func(context.Context) error) error {
	return s.exclusive(ctx, func(ctx context.Context) error {
		if err := s.begin(ctx); err != nil {
			return err
		}
		if err := work(ctx); err != nil {
			return s.rollback(ctx, err)
		}
		return s.end(ctx)
	})
}

// KeepForecast keeps a forecast; one that is there already stays as it is.
func (s *Store) KeepForecast(ctx context.Context, farm string, f Forecast) error {
	return s.alone(ctx, func(ctx context.Context) error {
		for _, d := range f.Days {
			err := s.w.exec(ctx, `INSERT INTO forecast_days (farm_id, source, lat_e4, lon_e4, made_at, day, received_at, high_c, low_c, dew_c, wind_2m_ms,
				sky, rain_chance, rain_mm, rain_part) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)
				ON CONFLICT (farm_id, source, lat_e4, lon_e4, made_at, day) DO NOTHING`,
				farm, f.Source, f.LatE4, f.LonE4, journal.FormatInstant(f.Made), d.On.String(), journal.FormatInstant(f.Received),
				d.High, d.Low, d.Dew, d.Wind, d.Sky, d.Rain, d.Amount, string(d.Part))
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// Forecasts returns the forecasts kept for a farm, those of a source and place together, the oldest first.
func (s *Store) Forecasts(ctx context.Context, farm string) ([]Forecast, error) {
	if ok, err := s.keepsWeather(ctx); err != nil || !ok {
		return nil, err
	}
	rows, err := s.reads.QueryContext(ctx, `SELECT source, lat_e4, lon_e4, made_at, day, received_at, high_c, low_c, dew_c, wind_2m_ms, sky, rain_chance, rain_mm, rain_part
		FROM forecast_days WHERE farm_id = $1 ORDER BY source, lat_e4, lon_e4, made_at, day`, farm)
	if err != nil {
		return nil, s.explain("read forecasts", err)
	}
	defer func() { _ = rows.Close() }()
	var out []Forecast
	for rows.Next() {
		one, err := scanForecastDay(rows)
		if err != nil {
			return nil, s.explain("read a forecast", err)
		}
		if n := len(out); n > 0 && out[n-1].Source == one.Source && out[n-1].LatE4 == one.LatE4 && out[n-1].LonE4 == one.LonE4 && out[n-1].Made.Equal(one.Made) {
			out[n-1].Days = append(out[n-1].Days, one.Days...)
		} else {
			out = append(out, one)
		}
	}
	return out, s.explain("read forecasts", rows.Err())
}

// scanForecastDay reads a forecast of one day.
func scanForecastDay(rows *sql.Rows) (Forecast, error) {
	var f Forecast
	var a weather.Ahead
	var made, received, day, part string
	err := rows.Scan(&f.Source, &f.LatE4, &f.LonE4, &made, &day, &received, &a.High, &a.Low, &a.Dew, &a.Wind, &a.Sky, &a.Rain, &a.Amount, &part)
	if err != nil {
		return f, err
	}
	if f.Made, err = journal.ParseInstant(made); err != nil {
		return f, err
	}
	if f.Received, err = journal.ParseInstant(received); err != nil {
		return f, err
	}
	a.On, err = calendar.ParseDay(day)
	a.Part = weather.Part(part)
	f.Days = []weather.Ahead{a}
	return f, err
}

// A WeatherFile is a file of recorded weather as it came, and what a person said of its station.
type WeatherFile struct {
	Digest     string // SHA-256 of the file, in hex
	Name       string
	Station    string   // "rural" or "airport"; empty: not said
	Stamp      string   // what the time of a row marks of its hour; empty: the start
	WindHeight *float64 // metres; nil: not said
	First, End time.Time
	Imported   time.Time
	Packed     []byte // gzip
}

// KeepWeather keeps a file of recorded weather. One that is there takes what is now said of its station; again then says so.
func (s *Store) KeepWeather(ctx context.Context, farm string, f WeatherFile) (again bool, err error) {
	err = s.alone(ctx, func(ctx context.Context) error {
		var n int64
		if _, err := s.w.row(ctx, `SELECT count(*) FROM weather_files WHERE farm_id = $1 AND digest = $2`, []any{farm, f.Digest}, []any{&n}); err != nil {
			return err
		}
		again = n > 0
		return s.w.exec(ctx, `INSERT INTO weather_files (farm_id, digest, name, station, stamp, wind_height_m, first_at, end_at, imported_at, packed)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
			ON CONFLICT (farm_id, digest) DO UPDATE SET name = excluded.name, station = excluded.station, stamp = excluded.stamp,
			wind_height_m = excluded.wind_height_m, imported_at = excluded.imported_at`,
			farm, f.Digest, f.Name, f.Station, f.Stamp, f.WindHeight, journal.FormatInstant(f.First), journal.FormatInstant(f.End), journal.FormatInstant(f.Imported), f.Packed)
	})
	return again, err
}

// WeatherFiles returns the files of recorded weather kept for a farm, in the order in which they were imported.
func (s *Store) WeatherFiles(ctx context.Context, farm string) ([]WeatherFile, error) {
	if ok, err := s.keepsWeather(ctx); err != nil || !ok {
		return nil, err
	}
	rows, err := s.reads.QueryContext(ctx, `SELECT digest, name, station, stamp, wind_height_m, first_at, end_at, imported_at, packed
		FROM weather_files WHERE farm_id = $1 ORDER BY imported_at, digest`, farm)
	if err != nil {
		return nil, s.explain("read weather", err)
	}
	defer func() { _ = rows.Close() }()
	var out []WeatherFile
	for rows.Next() {
		var f WeatherFile
		var first, end, imported string
		if err := rows.Scan(&f.Digest, &f.Name, &f.Station, &f.Stamp, &f.WindHeight, &first, &end, &imported, &f.Packed); err != nil {
			return nil, s.explain("read weather", err)
		}
		for _, t := range []struct {
			text string
			into *time.Time
		}{{first, &f.First}, {end, &f.End}, {imported, &f.Imported}} {
			if *t.into, err = journal.ParseInstant(t.text); err != nil {
				return nil, s.explain("read weather", fmt.Errorf("file %s: %w", f.Name, err))
			}
		}
		out = append(out, f)
	}
	return out, s.explain("read weather", rows.Err())
}

// ForgetWeather takes a file of recorded weather out. It may be imported again.
func (s *Store) ForgetWeather(ctx context.Context, farm, digest string) error {
	return s.alone(ctx, func(ctx context.Context) error {
		return s.w.exec(ctx, `DELETE FROM weather_files WHERE farm_id = $1 AND digest = $2`, farm, digest)
	})
}
