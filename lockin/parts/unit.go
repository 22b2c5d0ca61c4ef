package parts

import "strings"

// Unit is the unit a value is expected in.
type Unit uint8

// The units that values come in.
const (
	None Unit = iota // a plain number
	Ohm
	Farad
	Henry
	Volt
	Ampere
	Hertz
	Second
)

// unitInfo is what the notation needs to know of a unit.
type unitInfo struct {
	symbol string   // as printed
	word   string   // as spoken of in messages
	names  []string // as typed, beside the symbol
	mark   rune     // letter that stands for the decimal mark, 0 for none
	most   int      // decimal exponent of the largest prefix that makes sense
}

var units = [...]unitInfo{
	None:   {word: "a plain number", most: 12},
	Ohm:    {symbol: "Ω", word: "ohm", names: []string{"Ω", "ohm", "ohms", "R"}, mark: 'R', most: 12},
	Farad:  {symbol: "F", word: "farad", mark: 'F', most: 3},
	Henry:  {symbol: "H", word: "henry", mark: 'H', most: 3},
	Volt:   {symbol: "V", word: "volt", mark: 'V', most: 12},
	Ampere: {symbol: "A", word: "ampere", mark: 'A', most: 12},
	Hertz:  {symbol: "Hz", word: "hertz", most: 12},
	Second: {symbol: "s", word: "second", most: 12},
}

func (u Unit) info() unitInfo {
	if int(u) < len(units) {
		return units[u]
	}
	return units[None]
}

// String returns the symbol of the unit: Ω, F, H, V, A, Hz, s, or nothing.
func (u Unit) String() string { return u.info().symbol }

// named reports whether text is a way to write the unit. Case is forgiven, but
// for a lone f, which could as well be femto.
func (u Unit) named(text string, prefixed bool) bool {
	info := u.info()
	if text == "" || u == None {
		return false
	}
	for _, name := range append(info.names, info.symbol) {
		if text == name || (strings.EqualFold(text, name) && (prefixed || text != "f")) {
			return true
		}
	}
	return false
}

// prefix is one of the decimal prefixes of the trade.
type prefix struct {
	letters  string // the first is the one printed
	exponent int
	word     string
}

// Both code points that look like µ are one prefix, and K is k: no unit here is
// the kelvin. M and m differ by nine decades and are never taken for each other.
var prefixes = []prefix{
	{"T", 12, "tera"}, {"G", 9, "giga"}, {"M", 6, "mega"}, {"kK", 3, "kilo"},
	{"m", -3, "milli"}, {"u\u00b5\u03bc", -6, "micro"}, {"n", -9, "nano"}, {"p", -12, "pico"}, {"f", -15, "femto"},
}

// findPrefix returns the prefix that a letter stands for.
func findPrefix(letter rune) (prefix, bool) {
	for _, p := range prefixes {
		if strings.ContainsRune(p.letters, letter) {
			return p, true
		}
	}
	return prefix{}, false
}
