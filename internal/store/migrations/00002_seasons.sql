-- Lists go by season: newest crop year first, then newest day. One index then serves a list of all seasons and of
-- one, whatever it is a list of, and a page of an old season is found as fast as one of this year.

-- +goose Up

DROP INDEX loads_outlet_day;
CREATE INDEX loads_season ON loads (farm_id, crop_year, day, load_id);
CREATE INDEX loads_outlet ON loads (farm_id, outlet, crop_year, day, load_id);
CREATE INDEX loads_contract ON loads (farm_id, contract, crop_year, day, load_id) WHERE contract <> '';

-- A derived table; its rows are made again from the entries when the file is opened.
DROP TABLE load_fields;
CREATE TABLE load_fields (
	farm_id   TEXT    NOT NULL,
	load_id   TEXT    NOT NULL,
	field     TEXT    NOT NULL,
	crop_year INTEGER NOT NULL,
	day       TEXT    NOT NULL,
	net_lb    INTEGER,
	net_kg    INTEGER,
	PRIMARY KEY (farm_id, load_id, field),
	FOREIGN KEY (farm_id, load_id) REFERENCES loads (farm_id, load_id)
) STRICT;

CREATE INDEX load_fields_field ON load_fields (farm_id, field, crop_year, day, load_id);

PRAGMA user_version = 2;
