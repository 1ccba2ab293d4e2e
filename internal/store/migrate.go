package store

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
	"log/slog"
	"path/filepath"

	"github.com/pressly/goose/v3"

	"threshday/internal/store/fault"
	"threshday/internal/store/proof"
	"threshday/internal/store/sqlite"
)

//go:embed migrations/*.sql
var migrations embed.FS

// Schema is the version of the tables that this program writes, the number of the last migration.
const Schema = 4

const (
	// applicationID stands in the header of every file of ours: "Thrd".
	applicationID = 0x54687264
	// derivation counts the changes to how the derived tables are made; files of an older one make them anew.
	derivation = 2
	// oldestSQLite has the fix of a rare race between two connections that reset the log, which could damage the
	// file. [sqlite-walreset]
	oldestSQLite = 3_51_03
)

// A version is what a file says of itself.
type version struct {
	application, schema int64
}

func versionOf(ctx context.Context, q proof.Querier) (v version, err error) {
	if err = q.QueryRowContext(ctx, `PRAGMA application_id`).Scan(&v.application); err == nil {
		err = q.QueryRowContext(ctx, `PRAGMA user_version`).Scan(&v.schema)
	}
	return v, err
}

// accept returns why a file of version v must not be opened for writing; nil when it may.
func (s *Store) accept(ctx context.Context, q proof.Querier, v version) error {
	file := filepath.Base(s.path)
	if v == (version{}) {
		var tables int
		if err := q.QueryRowContext(ctx, `SELECT count(*) FROM sqlite_schema
			WHERE tbl_name NOT IN ('goose_db_version', 'sqlite_sequence')`).Scan(&tables); err != nil {
			return err
		}
		if tables == 0 {
			return nil // new, or begun and broken off before the first migration was whole
		}
	}
	if v.application != applicationID {
		return &sqlite.Trouble{
			Rule: sqlite.Foreign, Say: fmt.Sprintf("%s is a database of another program. Nothing was changed.", file),
			Next: "Name the data file of this program, or a file that does not exist yet.",
		}
	}
	if v.schema > Schema {
		by := fact(ctx, q, "program")
		if by == "" {
			by = "a later version"
		}
		return &sqlite.Trouble{
			Rule: sqlite.Newer,
			Say: fmt.Sprintf("%s was written by %s and has tables of version %d; you are running %s, which knows version %d. Nothing was changed.",
				file, by, v.schema, s.program, Schema),
			Next: fmt.Sprintf("Install %s or newer, or read the file with dump, which changes nothing.", by),
		}
	}
	return nil
}

// fact returns what the file says of itself under name; "" when it says nothing.
func fact(ctx context.Context, q proof.Querier, name string) string {
	var value string
	// A file without the table, or without the fact, says nothing; what is wrong with it shows elsewhere.
	_ = q.QueryRowContext(ctx, `SELECT value FROM facts WHERE name = $1`, name).Scan(&value)
	return value
}

func setFact(ctx context.Context, db interface {
	ExecContext(context.Context, string, ...any) (sql.Result, error)
}, name, value string,
) error {
	_, err := db.ExecContext(ctx, `INSERT INTO facts (name, value) VALUES ($1, $2)
		ON CONFLICT (name) DO UPDATE SET value = excluded.value WHERE facts.value <> excluded.value`, name, value)
	return err
}

// migrate brings the tables to this version, each step in one transaction. A file that holds anything is backed
// up first and the backup proved; it returns what the file added up to before.
func (s *Store) migrate(ctx context.Context, db *sql.DB, from version) (before *proof.Totals, err error) {
	if from.schema > 0 && !s.engine.Virtual {
		kept, err := s.backUp(ctx, "before-migration")
		if err != nil {
			return nil, fmt.Errorf("the tables stay as they were, for want of a good backup: %w", err)
		}
		before = &kept.Totals
		s.log.Info("backed up before the tables change", "file", kept.File)
	}
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return nil, err
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, db, files, goose.WithDisableGlobalRegistry(true), goose.WithSlog(slog.New(slog.DiscardHandler)))
	if err != nil {
		return nil, err
	}
	fault.Reach("mid-migration")
	if _, err := p.Up(ctx); err != nil {
		return nil, s.notMigrated(err)
	}
	return before, nil
}

// proveMigration checks a file whose tables were changed: it is whole, and adds up to what it did before.
func (s *Store) proveMigration(ctx context.Context, before proof.Totals) error {
	wrong, err := proof.Structure(ctx, s.w, false)
	if err == nil && len(wrong) > 0 {
		err = fmt.Errorf("after the change: %s", wrong[0])
	}
	after, countErr := proof.Count(ctx, s.w)
	if err == nil {
		err = countErr
	}
	if err == nil && after != before {
		err = fmt.Errorf("the book added up to %+v before the change and to %+v after", before, after)
	}
	if err != nil {
		return s.notMigrated(err)
	}
	return nil
}

func (s *Store) notMigrated(err error) error {
	return &sqlite.Trouble{
		Rule: sqlite.Migrated, Err: err,
		Say:  fmt.Sprintf("%s could not be brought to this version: %v.", filepath.Base(s.path), err),
		Next: fmt.Sprintf("Restore the backup made just before, in %s, or use the version that wrote it.", s.backups),
	}
}

// settleFacts writes what the file says of itself, and makes the derived tables anew when they were made otherwise.
func (s *Store) settleFacts(ctx context.Context) error {
	made := fact(ctx, s.w, "derivation")
	if want := fmt.Sprint(derivation); made != want {
		if made != "" {
			if err := s.rebuild(ctx); err != nil {
				return err
			}
		}
		if err := setFact(ctx, s.w.conn, "derivation", want); err != nil {
			return err
		}
	}
	return setFact(ctx, s.w.conn, "program", s.program)
}
