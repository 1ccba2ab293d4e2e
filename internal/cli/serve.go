package cli

import (
	"context"
	"fmt"
	"log/slog"
	"path/filepath"
	"time"

	"threshday/internal/app"
	"threshday/internal/web"
)

type serveCmd struct {
	Data   dataname `env:"THRESHDAY_DATA" placeholder:"farm.db" help:"The data file of the farm; also read from THRESHDAY_DATA. Left out: farm.db, begun where there is none."`
	Demo   bool     `help:"Show the invented farm, on a copy that is thrown away."`
	Listen string   `default:"127.0.0.1:7080" help:"Address to answer on; of this computer alone."`
	Kept   filename `name:"cache" placeholder:"FOLDER" help:"Folder of forecasts that threshday weather fetch keeps; left out: none."`
}

// Explain says who is answered.
func (serveCmd) Explain() string {
	return "Opens the farm's own screen in the browser of this computer: day sheet, fields, outlets, loads, pencil. Nobody else is answered: other computers and phones " +
		"come once they can be answered by HTTPS. Stops with Ctrl-C; what was acknowledged is on the disk by then.\n\n" +
		"The data file is held while it runs; a backup is made beside it when one is due. Plans are kept beside it too, in a folder that ends in .plans."
}

// Run serves until it is stopped.
func (c serveCmd) Run(s *session) error {
	at, err := web.Address(c.Listen)
	if err != nil {
		return err
	}
	data := string(c.Data)
	switch {
	case c.Demo && data != "" && !s.dataFromEnvironment():
		return refuse("serve.demo", "--demo", "--demo and --data are given together; the invented farm has a data file of its own.", "Leave one of them out.")
	case c.Demo:
		folder, remove, err := s.Scratch()
		if err != nil {
			return err
		}
		defer func() { _ = remove() }() // a copy nobody needs
		if data, err = s.App.CopyDemo(s.ctx, folder); err != nil {
			return err
		}
	case data == "":
		data = "farm.db"
	}
	listener, err := web.Listen(s.ctx, at)
	if err != nil {
		return err
	}
	defer func() { _ = listener.Close() }() // closed already when all went well
	held, err := s.App.Hold(s.ctx, data, "serve on "+listener.Addr().String())
	if err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(s.Stderr, nil))
	server, err := web.New(s.ctx, web.Settings{
		App: s.App, Data: data, Kept: string(c.Kept), Demo: c.Demo, Version: s.Version, Log: log, Statement: s.Files.Statement, Schedule: s.Files.ScheduleForm,
		Source: func(key string) (any, bool) { return s.Source(key) },
	})
	if err == nil {
		err = s.tellServing(listener.Addr().String(), data, c.Demo)
	}
	if err == nil {
		keep, stop := context.WithCancel(s.ctx)
		done := make(chan struct{})
		go func() { defer close(done); maintain(keep, held, log) }()
		err = server.Run(s.ctx, listener)
		stop()
		<-done
	}
	if e := held.Release(); err == nil {
		err = e
	}
	return err
}

// dataFromEnvironment reports whether the data file was not named on the command line.
func (s *session) dataFromEnvironment() bool {
	for _, flag := range s.given {
		if flag == "--data" {
			return false
		}
	}
	return true
}

// tellServing prints where to look.
func (s *session) tellServing(at, data string, demo bool) error {
	if s.json {
		return s.print(map[string]any{"address": "http://" + at, "data": data, "demo": demo})
	}
	what := filepath.Base(data)
	if demo {
		what = "the invented farm, a copy that is thrown away"
	}
	_, err := fmt.Fprintf(s.Stdout, "Open http://%s in the browser of this computer. It shows %s. Ctrl-C stops it.\n", at, what)
	return err
}

// maintain makes backups when they are due, until ctx ends.
func maintain(ctx context.Context, held *app.Held, log *slog.Logger) {
	tick := time.NewTicker(app.Maintenance)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		switch made, err := held.Maintain(ctx); {
		case err != nil:
			log.Error("no backup", "error", err)
		case made != nil:
			log.Info("backed up", "file", made.File)
		}
	}
}
