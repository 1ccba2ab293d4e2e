package crop

// A WheatClass is one of the official classes of wheat that are sold by name. The zero class is wheat whose
// class nobody has said. [cfr-810-wheat]
type WheatClass uint8

// The classes, under the letters official certificates and bids use.
const (
	AnyWheat WheatClass = iota
	HRW                 // hard red winter
	HRS                 // hard red spring
	SRW                 // soft red winter
	HDWH                // hard white
	SWH                 // soft white
	DU                  // durum
)

var wheatClasses = [...]struct{ code, name string }{
	{"", "wheat, class not said"},
	{"HRW", "hard red winter"},
	{"HRS", "hard red spring"},
	{"SRW", "soft red winter"},
	{"HDWH", "hard white"},
	{"SWH", "soft white"},
	{"DU", "durum"},
}

// WheatClasses returns every class that has a name, in order.
func WheatClasses() []WheatClass { return []WheatClass{HRW, HRS, SRW, HDWH, SWH, DU} }

// String returns the letters used in files and on the command line, "HRW"; empty where no class is said.
func (c WheatClass) String() string {
	if int(c) >= len(wheatClasses) {
		return ""
	}
	return wheatClasses[c].code
}

// Name returns the class in words, "hard red winter".
func (c WheatClass) Name() string {
	if int(c) >= len(wheatClasses) {
		return ""
	}
	return wheatClasses[c].name
}

// ParseWheatClass returns the class of those letters. The empty string is AnyWheat.
func ParseWheatClass(s string) (WheatClass, bool) {
	if s == "" {
		return AnyWheat, true
	}
	for _, c := range WheatClasses() {
		if wheatClasses[c].code == s {
			return c, true
		}
	}
	return AnyWheat, false
}

// A Kernel is how a wheat's endosperm breaks, which decides how it holds water.
type Kernel uint8

// The kernels. UnknownKernel is that of a wheat whose class nobody has said.
const (
	UnknownKernel Kernel = iota
	HardKernel
	SoftKernel
	DurumKernel
)

// Kernel returns the kernel of the class.
func (c WheatClass) Kernel() Kernel {
	switch c {
	case HRW, HRS, HDWH:
		return HardKernel
	case SRW, SWH:
		return SoftKernel
	case DU:
		return DurumKernel
	default:
		return UnknownKernel
	}
}
