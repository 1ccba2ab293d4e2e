-- The book of a farm: what was entered, and what it amounts to.
--
-- SQLite takes this file as it stands. For PostgreSQL, where the same queries run: no STRICT, BIGINT for
-- INTEGER, BYTEA for BLOB, and the two triggers in its own language.

-- +goose Up

CREATE TABLE facts (
	name  TEXT NOT NULL PRIMARY KEY,
	value TEXT NOT NULL
) STRICT;

-- Entries. Nothing here is ever updated or deleted.
CREATE TABLE events (
	farm_id     TEXT    NOT NULL,
	seq         INTEGER NOT NULL,
	event_id    TEXT    NOT NULL,
	record_id   TEXT    NOT NULL,
	kind        TEXT    NOT NULL,
	body        TEXT    NOT NULL,
	origin      TEXT    NOT NULL,
	device      TEXT    NOT NULL,
	counter     INTEGER NOT NULL,
	entered_at  TEXT    NOT NULL,
	offset_min  INTEGER NOT NULL,
	skew_ms     INTEGER,
	day         TEXT    NOT NULL,
	entered_by  TEXT    NOT NULL,
	received_at TEXT    NOT NULL,
	status      TEXT    NOT NULL,
	rules       TEXT    NOT NULL,
	hash        BLOB    NOT NULL,
	PRIMARY KEY (farm_id, seq),
	UNIQUE (farm_id, event_id)
) STRICT;

CREATE INDEX events_saying ON events (farm_id, record_id, seq) WHERE record_id <> event_id;
CREATE INDEX events_device ON events (farm_id, device, counter) WHERE counter > 0;
CREATE INDEX events_season ON events (farm_id, seq) WHERE kind = 'season.set';

-- +goose StatementBegin
CREATE TRIGGER events_stay_as_they_are BEFORE UPDATE ON events
BEGIN
	SELECT RAISE(ABORT, 'an entry is never changed; record a correction');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER events_stay BEFORE DELETE ON events
BEGIN
	SELECT RAISE(ABORT, 'an entry is never deleted; record a void');
END;
-- +goose StatementEnd

-- What came from a phone and could not be taken, byte for byte.
CREATE TABLE refused (
	farm_id     TEXT NOT NULL,
	event_id    TEXT NOT NULL,
	digest      TEXT NOT NULL,
	received_at TEXT NOT NULL,
	rule        TEXT NOT NULL,
	say         TEXT NOT NULL,
	raw         BLOB NOT NULL,
	PRIMARY KEY (farm_id, event_id, digest)
) STRICT;

-- Everything below is derived from the entries, and can be dropped and made again.

CREATE TABLE records (
	farm_id    TEXT    NOT NULL,
	record_id  TEXT    NOT NULL,
	subject    TEXT    NOT NULL,
	about      TEXT    NOT NULL,
	at         TEXT    NOT NULL,
	state      TEXT    NOT NULL,
	version_id TEXT    NOT NULL,
	review     TEXT    NOT NULL,
	PRIMARY KEY (farm_id, record_id)
) STRICT;

CREATE INDEX records_about ON records (farm_id, subject, about, at);
CREATE INDEX records_at ON records (farm_id, subject, at);
CREATE INDEX records_review ON records (farm_id, record_id) WHERE review <> '';

CREATE TABLE loads (
	farm_id                     TEXT    NOT NULL,
	load_id                     TEXT    NOT NULL,
	state                       TEXT    NOT NULL,
	version_id                  TEXT    NOT NULL,
	day                         TEXT    NOT NULL,
	crop_year                   INTEGER NOT NULL,
	crop                        TEXT    NOT NULL,
	outlet                      TEXT    NOT NULL,
	contract                    TEXT    NOT NULL,
	ticket                      TEXT    NOT NULL,
	truck                       TEXT    NOT NULL,
	scale_at                    TEXT,
	gross_lb                    INTEGER,
	gross_kg                    INTEGER,
	net_lb                      INTEGER,
	net_kg                      INTEGER,
	moist_hundredth_pct         INTEGER,
	test_weight_hundredth_lb_bu INTEGER,
	kept                        INTEGER NOT NULL,
	merged                      INTEGER NOT NULL,
	double_of                   TEXT    NOT NULL,
	counted                     INTEGER NOT NULL,
	review                      TEXT    NOT NULL,
	PRIMARY KEY (farm_id, load_id)
) STRICT;

CREATE INDEX loads_day ON loads (farm_id, day, load_id);
CREATE INDEX loads_outlet_day ON loads (farm_id, outlet, day, load_id);
CREATE INDEX loads_ticket ON loads (farm_id, crop_year, outlet, ticket);
CREATE INDEX loads_truck ON loads (farm_id, truck, outlet, scale_at) WHERE truck <> '';
CREATE INDEX loads_review ON loads (farm_id, load_id) WHERE review <> '';

CREATE TABLE load_fields (
	farm_id TEXT    NOT NULL,
	load_id TEXT    NOT NULL,
	field   TEXT    NOT NULL,
	day     TEXT    NOT NULL,
	net_lb  INTEGER,
	net_kg  INTEGER,
	PRIMARY KEY (farm_id, load_id, field),
	FOREIGN KEY (farm_id, load_id) REFERENCES loads (farm_id, load_id)
) STRICT;

CREATE INDEX load_fields_field ON load_fields (farm_id, field, day, load_id);

CREATE TABLE load_merges (
	farm_id TEXT NOT NULL,
	load_id TEXT NOT NULL,
	into_id TEXT NOT NULL,
	PRIMARY KEY (farm_id, load_id, into_id)
) STRICT;

CREATE INDEX load_merges_into ON load_merges (farm_id, into_id);

PRAGMA application_id = 1416131172;
PRAGMA user_version = 1;
