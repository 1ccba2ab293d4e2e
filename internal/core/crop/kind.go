// Package crop says what is grown and how the trade counts it: names, trade bushels, market bases, classes.
//
// A trade bushel is a weight. The base moisture of a price is a property of the outlet's terms, never of the
// crop; what stands here is the usual one, to be offered and shown as such.
package crop

// A Kind is a crop the program knows. The zero Kind is no crop.
type Kind uint8

// The crops, in the order of the reference sheets.
const (
	Unknown Kind = iota
	Soybean
	Corn
	Wheat
	Sorghum
	Canola
	Sunflower
	Barley
	Oats
)

var names = [...]string{"", "soybean", "corn", "wheat", "sorghum", "canola", "sunflower", "barley", "oats"}

// Kinds returns every crop in order.
func Kinds() []Kind {
	return []Kind{Soybean, Corn, Wheat, Sorghum, Canola, Sunflower, Barley, Oats}
}

// String returns the name used in files and on the command line, "soybean".
func (k Kind) String() string {
	if int(k) >= len(names) {
		return ""
	}
	return names[k]
}

// Parse returns the crop of that exact name.
func Parse(s string) (Kind, bool) {
	for _, k := range Kinds() {
		if names[k] == s {
			return k, true
		}
	}
	return Unknown, false
}
