package main

import (
	"context"
	"database/sql"
	"encoding/hex"
	"os"
	"strconv"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"threshday/internal/store/sqlite"
)

// patch overwrites bytes of a file: `patch farm.db 60 00000063`.
func patch(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: patch FILE OFFSET HEX")
	}
	at, err := strconv.ParseInt(args[1], 10, 64)
	ts.Check(err)
	bytes, err := hex.DecodeString(args[2])
	ts.Check(err)
	f, err := os.OpenFile(ts.MkAbs(args[0]), os.O_WRONLY, 0)
	ts.Check(err)
	_, err = f.WriteAt(bytes, at)
	ts.Check(err)
	ts.Check(f.Close())
}

// hold holds a data file until the script ends: as a server of this program does, or as another program with a
// transaction open. `hold running farm.db`, `hold locked farm.db`.
func hold(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: hold running|locked FILE")
	}
	path := ts.MkAbs(args[1])
	switch args[0] {
	case "running":
		me := sqlite.Holder{PID: os.Getpid(), What: "serve on 127.0.0.1:8088", Since: time.Date(2004, 10, 6, 12, 0, 0, 0, time.UTC)}
		lock, err := sqlite.Acquire(context.Background(), path, me, 0)
		ts.Check(err)
		ts.Defer(func() { ts.Check(lock.Release()) })
	case "locked":
		db, err := sql.Open("sqlite", path)
		ts.Check(err)
		db.SetMaxOpenConns(1)
		_, err = db.Exec("BEGIN EXCLUSIVE")
		ts.Check(err)
		ts.Defer(func() { ts.Check(db.Close()) })
	default:
		ts.Fatalf("hold %s: unknown", args[0])
	}
}
