package journal

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strconv"
	"time"
)

// A Hash stands for an entry and every entry before it. The zero Hash stands before the first.
type Hash [sha256.Size]byte

// String returns the hash in hexadecimal, as it is printed on statements and kept in backup manifests.
func (h Hash) String() string { return hex.EncodeToString(h[:]) }

// ParseHash reads the form that String writes.
func ParseHash(s string) (h Hash, err error) {
	b, err := hex.DecodeString(s)
	if err != nil || len(b) != len(h) {
		return h, fmt.Errorf("%q is not a hash of 64 hexadecimal digits", s)
	}
	return Hash(b), nil
}

// Chain returns the hash of an entry whose predecessor in the book has hash prev: SHA-256 over prev in
// hexadecimal, a line feed, and the entry's [Line]. A changed, missing, added or exchanged entry shows in every
// hash after it. Whoever can write the file can chain it anew, so the newest hash is also kept elsewhere: on
// statements and in the manifests of backups.
func Chain(prev Hash, e Entry) Hash {
	text := make([]byte, 0, 1024)
	text = hex.AppendEncode(text, prev[:])
	text = append(text, '\n')
	return sha256.Sum256(append(text, Line(e)...))
}

// instantForm has milliseconds and a fixed width, so that texts sort as instants do.
const instantForm = "2006-01-02T15:04:05.000Z"

// FormatInstant returns t in UTC as the book writes it, cut to the millisecond.
func FormatInstant(t time.Time) string { return t.UTC().Format(instantForm) }

// ParseInstant reads the form that [FormatInstant] writes.
func ParseInstant(s string) (time.Time, error) {
	t, err := time.Parse(instantForm, s)
	if err != nil {
		return t, fmt.Errorf("%q is not an instant like 2031-09-14T18:02:11.000Z", s)
	}
	return t, nil
}

// Line returns the canonical JSON of everything in the entry but its hash. Parts that are absent are left out.
func Line(e Entry) []byte {
	// Written key by key in the order of the canonical form: checking a book makes a line of every entry.
	l := make([]byte, 0, 512+len(e.Body))
	text := func(key, s string) {
		if s != "" {
			l = append(appendString(append(l, key...), s), ',')
		}
	}
	integer := func(key string, n int64) {
		l = append(strconv.AppendInt(append(l, key...), n, 10), ',')
	}
	l = append(l, '{')
	text(`"at":`, FormatInstant(e.At))
	l = append(append(append(l, `"body":`...), e.Body...), ',')
	text(`"by":`, e.By)
	if e.Counter != 0 {
		integer(`"counter":`, e.Counter)
	}
	if !e.Day.IsZero() {
		text(`"day":`, e.Day.String())
	}
	text(`"device":`, e.Device)
	text(`"farm":`, e.Farm)
	text(`"id":`, string(e.ID))
	text(`"kind":`, string(e.Kind))
	integer(`"offset_min":`, int64(e.Offset))
	text(`"origin":`, string(e.Origin))
	text(`"received_at":`, FormatInstant(e.Received))
	if len(e.Rules) > 0 {
		l = append(appendValue(append(l, `"rules":`...), texts(e.Rules)), ',')
	}
	integer(`"seq":`, e.Seq)
	if e.Skew != nil {
		integer(`"skew_ms":`, e.Skew.Milliseconds())
	}
	text(`"status":`, string(e.Status))
	l[len(l)-1] = '}' // in place of the last comma
	return l
}

// ParseLine reads what [Line] wrote. The entry's hash is left zero.
func ParseLine(line []byte) (Entry, error) {
	o, err := openBody(line)
	if err != nil {
		return Entry{}, err
	}
	e := Entry{Event: Event{
		Farm: o.text("farm", maxName), ID: ID(o.text("id", maxName)), Kind: Kind(o.text("kind", maxName)),
		Origin: Origin(o.text("origin", maxName)), Device: o.optText("device", maxName), By: o.optText("by", maxName),
	}, Status: Status(o.text("status", maxName)), Rules: o.textList("rules")}
	e.Body = appendValue(nil, o.object("body"))
	e.At, e.Received = o.instant("at"), o.instant("received_at")
	e.Offset = int(o.integer("offset_min", -24*60, 24*60))
	e.Seq = o.integer("seq", 1, maxInteger)
	if n := o.optInteger("counter", 1, maxInteger); n != nil {
		e.Counter = *n
	}
	if n := o.optInteger("skew_ms", -maxInteger, maxInteger); n != nil {
		d := time.Duration(*n) * time.Millisecond
		e.Skew = &d
	}
	if d := o.optDay("day"); d != nil {
		e.Day = *d
	}
	return e, o.close()
}
