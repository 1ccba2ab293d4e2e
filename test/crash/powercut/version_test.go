package powercut

import (
	"database/sql"
	"testing"

	_ "modernc.org/sqlite" // the product's driver, "sqlite"
)

// The simulator proves something of the product only as long as both contain the same SQLite.
func TestBothDriversContainTheSameSQLite(t *testing.T) {
	versions := map[string]string{}
	for _, driver := range []string{"sqlite", "sqlite3"} {
		db, err := sql.Open(driver, "file::memory:")
		if err != nil {
			t.Fatal(err)
		}
		var v string
		if err := db.QueryRow(`SELECT sqlite_version()`).Scan(&v); err != nil {
			t.Fatal(err)
		}
		versions[driver] = v
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if versions["sqlite"] != versions["sqlite3"] {
		t.Errorf("the product runs %s, the simulator %s", versions["sqlite"], versions["sqlite3"])
	}
}
