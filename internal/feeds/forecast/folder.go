package forecast

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
	"threshday/internal/feeds/ensemblejson"
	"threshday/internal/feeds/gridpoint"
)

// A Folder keeps forecasts as they came, each in a compressed file of its own, and a small file, state.json, that says
// which one is the newest of each source and when it was asked for. Files are written beside and renamed, so that
// there is always a whole one. Nothing is ever taken away: forecasts that are past show how good they were.
type Folder string

const (
	stateName = "state.json"
	formatNow = 1
)

// A state is the text of state.json.
type state struct {
	Format  int                 `json:"format"`
	Sources map[Source]*history `json:"sources"`
}

// A history is what is known about asking one source for one place.
type history struct {
	Lat          float64    `json:"lat"`
	Lon          float64    `json:"lon"`
	Asked        time.Time  `json:"asked"`               // last time
	NotBefore    time.Time  `json:"not_before,omitzero"` // the service's own wish
	Office       string     `json:"office,omitempty"`
	X            int        `json:"grid_x,omitempty"`
	Y            int        `json:"grid_y,omitempty"`
	Zone         string     `json:"zone,omitempty"`
	Near         string     `json:"near,omitempty"`
	PointRead    time.Time  `json:"point_read,omitzero"`
	LastModified string     `json:"last_modified,omitempty"`
	Newest       *keptState `json:"newest,omitempty"`
}

// A keptState names the newest forecast.
type keptState struct {
	File     string    `json:"file"`
	Form     string    `json:"form"`
	Issued   time.Time `json:"issued"`
	Received time.Time `json:"received"`
	Checked  time.Time `json:"checked"`
}

// read returns the state of the folder; one without any is new.
func (f Folder) read() (*state, error) {
	s := &state{Format: formatNow, Sources: map[Source]*history{}}
	data, err := os.ReadFile(filepath.Join(string(f), stateName))
	if errors.Is(err, fs.ErrNotExist) {
		return s, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the kept forecasts: %w", err)
	}
	if err := json.Unmarshal(data, s); err != nil || s.Sources == nil {
		return nil, f.damaged("text that is not its own", "The file is damaged; take it away to ask anew.")
	}
	if s.Format != formatNow {
		return nil, f.damaged(fmt.Sprintf("form %d", s.Format), "A newer version of this program made it; use that one, or another folder.")
	}
	for source, h := range s.Sources {
		if h == nil {
			delete(s.Sources, source)
		}
	}
	return s, nil
}

func (f Folder) damaged(got, next string) error {
	return &problem.InputError{
		Rule: "forecast.state", Label: "list of kept forecasts", Got: got, Want: fmt.Sprintf("form %d", formatNow),
		Where: problem.Place{File: filepath.Join(string(f), stateName)}, Next: next,
	}
}

func (f Folder) write(s *state) error {
	data, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return fmt.Errorf("write the list of kept forecasts: %w", err)
	}
	return f.put(stateName, append(data, '\n'))
}

// put writes a whole file or none.
func (f Folder) put(name string, data []byte) (err error) {
	if err := os.MkdirAll(string(f), 0o750); err != nil {
		return fmt.Errorf("make the folder of forecasts: %w", err)
	}
	tmp, err := os.CreateTemp(string(f), ".new-*")
	if err != nil {
		return fmt.Errorf("keep the forecast: %w", err)
	}
	defer func() {
		if err != nil {
			_ = tmp.Close()           // the first error is the one to tell
			_ = os.Remove(tmp.Name()) // and what is left of it is of no use
			err = fmt.Errorf("keep the forecast: %w", err)
		}
	}()
	if _, err = tmp.Write(data); err != nil {
		return err
	}
	if err = tmp.Sync(); err != nil {
		return err
	}
	if err = tmp.Close(); err != nil {
		return err
	}
	return os.Rename(tmp.Name(), filepath.Join(string(f), name))
}

// keep stores an answer as it came and returns the name of its file.
func (f Folder) keep(source Source, form string, issued time.Time, body []byte) (string, error) {
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	if _, err := z.Write(body); err != nil {
		return "", fmt.Errorf("pack the forecast: %w", err)
	}
	if err := z.Close(); err != nil {
		return "", fmt.Errorf("pack the forecast: %w", err)
	}
	name := fmt.Sprintf("%s-%s-%s%s", source, issued.UTC().Format(fileStamp), form, fileEnd)
	return name, f.put(name, packed.Bytes())
}

// Newest returns the newest forecast of each source, the national one first. None is no error; one that is damaged is
// told and the others are returned.
func (f Folder) Newest() ([]Kept, []problem.Finding, error) {
	s, err := f.read()
	if err != nil {
		return nil, nil, err
	}
	var out []Kept
	var doubts []problem.Finding
	for _, source := range []Source{National, Ensemble} {
		h := s.Sources[source]
		if h == nil || h.Newest == nil {
			continue
		}
		k, err := f.open(source, h)
		if err != nil {
			doubts = append(doubts, unreadable(filepath.Join(string(f), h.Newest.File), err))
			continue
		}
		out = append(out, *k)
	}
	return out, doubts, nil
}

// All returns every forecast that the folder keeps, the oldest of each source first, as forecasts of the place that is asked
// for now: their files do not name it. Their time of arrival is taken for that of their making.
func (f Folder) All() ([]Kept, []problem.Finding, error) {
	s, err := f.read()
	if err != nil {
		return nil, nil, err
	}
	var out []Kept
	var doubts []problem.Finding
	for _, source := range []Source{National, Ensemble} {
		h := s.Sources[source]
		if h == nil {
			continue
		}
		files, err := filepath.Glob(filepath.Join(string(f), string(source)+"-*"+fileEnd))
		if err != nil {
			return nil, nil, fmt.Errorf("list the kept forecasts: %w", err)
		}
		for _, file := range files { // in the order of their names, which is that of their making
			name := filepath.Base(file)
			made, form, ok := nameParts(source, name)
			if !ok {
				continue // not one of ours
			}
			one := *h
			one.Newest = &keptState{File: name, Form: form, Issued: made, Received: made, Checked: made}
			k, err := f.open(source, &one)
			if err != nil {
				doubts = append(doubts, unreadable(file, err))
				continue
			}
			out = append(out, *k)
		}
	}
	return out, doubts, nil
}

const (
	fileEnd   = ".json.gz"
	fileStamp = "20060102T150405Z"
)

// nameParts reads what a file's name says; ok is false where it is none of the folder's.
func nameParts(source Source, name string) (made time.Time, form string, ok bool) {
	rest := strings.TrimSuffix(strings.TrimPrefix(name, string(source)+"-"), fileEnd)
	stamp, form, ok := strings.Cut(rest, "-")
	made, err := time.Parse(fileStamp, stamp)
	return made, form, ok && err == nil
}

func unreadable(file string, err error) problem.Finding {
	return problem.Finding{
		Rule: "forecast.damaged", Severity: problem.Warning, Where: problem.Place{File: file},
		Label: "kept forecast", Say: "A forecast that was kept cannot be read: " + err.Error(), Next: "Fetch it again: threshday weather fetch.",
	}
}

// open reads a kept forecast.
func (f Folder) open(source Source, h *history) (*Kept, error) {
	n := h.Newest
	if n.File != filepath.Base(n.File) || !strings.HasSuffix(n.File, fileEnd) {
		return nil, f.damaged(n.File, "The file is damaged; take it away to ask anew.")
	}
	packed, err := os.ReadFile(filepath.Join(string(f), n.File))
	if err != nil {
		return nil, fmt.Errorf("read a kept forecast: %w", err)
	}
	body, err := Unpack(packed)
	if err != nil {
		return nil, fmt.Errorf("read a kept forecast: %w", err)
	}
	k := &Kept{
		Source: source, At: Place{h.Lat, h.Lon}, Form: n.Form, Cell: h.cell(), Near: h.Near, Zone: h.Zone,
		Received: n.Received, Checked: n.Checked,
	}
	if err := k.understand(n.File, body); err != nil {
		return nil, err
	}
	k.Issued = n.Issued
	return k, nil
}

// understand reads what an answer says.
func (k *Kept) understand(name string, body []byte) error {
	if k.Source == Ensemble {
		runs, err := ensemblejson.Read(name, body)
		k.Says = runs
		return err
	}
	f, err := gridpoint.Read(name, body)
	if err != nil {
		return err
	}
	k.Says, k.Issued, k.Findings = f.Weather, f.Issued, f.Findings
	return nil
}

var (
	_ Says = weather.HourlyForecast{}
	_ Says = weather.EnsembleForecast{}
)

// Unpack returns the text of a kept forecast, or of one that is not packed.
func Unpack(data []byte) ([]byte, error) {
	if !bytes.HasPrefix(data, []byte{0x1f, 0x8b}) {
		return data, nil
	}
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	body, err := io.ReadAll(io.LimitReader(z, gridpoint.MaxBytes+1))
	if err != nil {
		return nil, err
	}
	if len(body) > gridpoint.MaxBytes {
		return nil, errors.New("the file is too large")
	}
	return body, nil
}

func (h *history) cell() string {
	if h.Office == "" {
		return ""
	}
	return fmt.Sprintf("%s %d,%d", h.Office, h.X, h.Y)
}
