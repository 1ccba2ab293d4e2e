package cli

import (
	"time"

	"threshday/internal/answer"
	"threshday/internal/words"
)

// digits returns x with that many decimals and commas that part the thousands: "1,934.55".
func digits(x float64, decimals int) string { return words.Digits(x, decimals) }

// short returns x with at most that many decimals, zeros at the end left off: "4.5", "12".
func short(x float64, decimals int) string { return words.Short(x, decimals) }

// plural returns "1 load", "1,204 loads".
func plural(n int64, one string) string { return words.Plural(n, one) }

// oneOf returns "a, b or c".
func oneOf(names []string) string { return words.OneOf(names) }

// stamp writes an instant as scripts read it, with the farm's offset.
func stamp(t time.Time) string { return answer.Stamp(t) }

// list returns an empty list, never null.
func list(s []string) []string { return answer.List(s) }

// momentLayout is how a moment is written in a sentence.
const momentLayout = answer.MomentLayout
