package singer

// formantCount is the number of formants that move; fixed ones lie above (see tract.go).
const formantCount = 5

// vowel is the shape of the vocal tract in a vowel, as averages for men, women and children.
type vowel struct {
	name    string
	formant [3][3]float64 // Hz: F1, F2, F3 of Man, Woman, Child
	hummed  bool          // the mouth is closed: a nasal murmur
	antiHz  float64       // Hz, antiresonance of the nasal murmur of a man; 0 for open vowels
	to      *vowel        // where the vowel moves to late in the note; nil for steady vowels
}

// Rows of Peterson and Barney, JASA 24 (1952) 175, table II: averages of F1, F2, F3 for men, women, children.
// From memory, then compared with a public transcript of the table.
var (
	rowI  = [3][3]float64{{270, 2290, 3010}, {310, 2790, 3310}, {370, 3200, 3730}}
	rowIh = [3][3]float64{{390, 1990, 2550}, {430, 2480, 3070}, {530, 2730, 3600}}
	rowEh = [3][3]float64{{530, 1840, 2480}, {610, 2330, 2990}, {690, 2610, 3570}}
	rowAe = [3][3]float64{{660, 1720, 2410}, {860, 2050, 2850}, {1010, 2320, 3320}}
	rowA  = [3][3]float64{{730, 1090, 2440}, {850, 1220, 2810}, {1030, 1370, 3170}}
	rowO  = [3][3]float64{{570, 840, 2410}, {590, 920, 2710}, {680, 1060, 3180}}
	rowUh = [3][3]float64{{440, 1020, 2240}, {470, 1160, 2680}, {560, 1410, 3310}}
	rowU  = [3][3]float64{{300, 870, 2240}, {370, 950, 2670}, {430, 1170, 3260}}
	rowV  = [3][3]float64{{640, 1190, 2390}, {760, 1400, 2780}, {850, 1590, 3360}}
	rowEr = [3][3]float64{{490, 1350, 1690}, {500, 1640, 1960}, {560, 1820, 2160}}
)

// Murmurs of m and n: Fujimura, JASA 34 (1962) 1865, gives a low first formant near 300 Hz, formants about 800 Hz apart, and an
// antiresonance at 750-1250 Hz (m) and 1450-2200 Hz (n); women and children by tract length. From memory.
var (
	rowM = [3][3]float64{{270, 1100, 2100}, {300, 1280, 2450}, {340, 1480, 2830}}
	rowN = [3][3]float64{{270, 1400, 2300}, {300, 1640, 2690}, {340, 1890, 3100}}
)

const (
	antiresonanceM = 1000 // Hz
	antiresonanceN = 1700 // Hz
)

// vowels are all vowels that a syllable may have. Close e and o, which the table lacks, are means of two rows (own).
var vowels = buildVowels()

func buildVowels() []vowel {
	table := []vowel{
		{name: "i", formant: rowI}, {name: "I", formant: rowIh}, {name: "E", formant: rowEh}, {name: "ae", formant: rowAe},
		{name: "a", formant: rowA}, {name: "O", formant: rowO}, {name: "U", formant: rowUh}, {name: "u", formant: rowU},
		{name: "uh", formant: rowV}, {name: "er", formant: rowEr},
		{name: "e", formant: meanRow(rowIh, rowEh)}, {name: "o", formant: meanRow(rowO, rowU)},
		{name: "m", formant: rowM, hummed: true, antiHz: antiresonanceM},
		{name: "n", formant: rowN, hummed: true, antiHz: antiresonanceN},
	}
	moving := []struct{ name, from, to string }{{"ai", "a", "I"}, {"ei", "e", "i"}, {"au", "a", "U"}, {"ou", "o", "u"}}
	all := make([]vowel, len(table), len(table)+len(moving))
	copy(all, table)
	byName := func(name string) *vowel {
		for i := range table {
			if table[i].name == name {
				return &table[i]
			}
		}
		panic("singer: no vowel " + name)
	}
	for _, m := range moving {
		all = append(all, vowel{name: m.name, formant: byName(m.from).formant, to: byName(m.to)})
	}
	return all
}

func meanRow(a, b [3][3]float64) [3][3]float64 {
	for i := range a {
		for j := range a[i] {
			a[i][j] = (a[i][j] + b[i][j]) / 2
		}
	}
	return a
}
