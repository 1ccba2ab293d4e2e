-- Weather that was forecast and weather that came. Nobody entered it on a form and no load hangs on it: it stands beside the
-- entries, outside their chain and their totals. It is copied with the file like everything else.

-- +goose Up

-- What services said of each day to come, as it was understood when it was received. The text as it came stays in the folder
-- of forecasts. NULL: not said.
CREATE TABLE forecast_days (
	farm_id     TEXT    NOT NULL,
	source      TEXT    NOT NULL,
	lat_e4      INTEGER NOT NULL,
	lon_e4      INTEGER NOT NULL,
	made_at     TEXT    NOT NULL,
	day         TEXT    NOT NULL,
	received_at TEXT    NOT NULL,
	high_c      REAL,
	low_c       REAL,
	dew_c       REAL,
	wind_2m_ms  REAL,
	sky         REAL,
	rain_chance REAL,
	rain_mm     REAL,
	rain_part   TEXT    NOT NULL,
	PRIMARY KEY (farm_id, source, lat_e4, lon_e4, made_at, day)
) STRICT;

-- Files of recorded weather, packed, as they came, and what a person said of the station.
CREATE TABLE weather_files (
	farm_id       TEXT NOT NULL,
	digest        TEXT NOT NULL,
	name          TEXT NOT NULL,
	station       TEXT NOT NULL,
	stamp         TEXT NOT NULL,
	wind_height_m REAL,
	first_at      TEXT NOT NULL,
	end_at        TEXT NOT NULL,
	imported_at   TEXT NOT NULL,
	packed        BLOB NOT NULL,
	PRIMARY KEY (farm_id, digest)
) STRICT;

PRAGMA user_version = 3;
