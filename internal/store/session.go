package store

import (
	"context"
	"database/sql"
)

// A session is the one connection that writes, with its prepared statements. It runs its transactions by hand:
// the statements live as long as the connection.
//
// Throughout the package the placeholders $1, $2, … of a statement stand in it in that order: to SQLite they are
// names, numbered as they come, and not every driver looks at the digits.
type session struct {
	conn  *sql.Conn
	stmts map[string]*sql.Stmt
}

func newSession(ctx context.Context, db *sql.DB) (*session, error) {
	conn, err := db.Conn(ctx)
	if err != nil {
		return nil, err
	}
	return &session{conn: conn, stmts: map[string]*sql.Stmt{}}, nil
}

func (s *session) stmt(ctx context.Context, query string) (*sql.Stmt, error) {
	if st, ok := s.stmts[query]; ok {
		return st, nil
	}
	st, err := s.conn.PrepareContext(ctx, query)
	if err == nil {
		s.stmts[query] = st
	}
	return st, err
}

func (s *session) exec(ctx context.Context, query string, args ...any) error {
	st, err := s.stmt(ctx, query) //nolint:sqlclosecheck // kept for the next time, closed with the session
	if err != nil {
		return err
	}
	_, err = st.ExecContext(ctx, args...)
	return err
}

func (s *session) query(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	st, err := s.stmt(ctx, query) //nolint:sqlclosecheck // kept for the next time, closed with the session
	if err != nil {
		return nil, err
	}
	return st.QueryContext(ctx, args...)
}

// row reads one row into to; ok is false when there is none.
func (s *session) row(ctx context.Context, query string, args, to []any) (ok bool, err error) {
	rows, err := s.query(ctx, query, args...)
	if err != nil {
		return false, err
	}
	defer func() { _ = rows.Close() }()
	if !rows.Next() {
		return false, rows.Err()
	}
	if err := rows.Scan(to...); err != nil {
		return false, err
	}
	return true, rows.Close()
}

// texts reads a column of texts.
func (s *session) texts(ctx context.Context, query string, args ...any) ([]string, error) {
	rows, err := s.query(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }()
	var out []string
	for rows.Next() {
		var one string
		if err := rows.Scan(&one); err != nil {
			return nil, err
		}
		out = append(out, one)
	}
	return out, rows.Err()
}

// QueryContext and QueryRowContext make a session a proof.Querier.
func (s *session) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	return s.conn.QueryContext(ctx, query, args...)
}

func (s *session) QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row {
	return s.conn.QueryRowContext(ctx, query, args...)
}

func (s *session) close() error {
	var first error
	for _, st := range s.stmts {
		if err := st.Close(); err != nil && first == nil {
			first = err
		}
	}
	if err := s.conn.Close(); err != nil && first == nil {
		first = err
	}
	return first
}
