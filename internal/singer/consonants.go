package singer

// manner is how a consonant is made.
type manner int

const (
	plosive manner = iota // closure, burst, aspiration
	nasal
	approximant // l r w y: voiced all through, the formants move
	fricative
	aspirate // h: breath through the shape of the vowel
	glottal  // glottal stop
	dip      // no consonant, the level just drops
)

// consonant is one consonant. Hz are a man's; longer or shorter tracts scale them.
type consonant struct {
	name    string
	manner  manner
	voiced  bool
	seconds float64    // usual length, voice onset time included
	delay   float64    // s from burst to voice (voice onset time) of plosives
	locus   [3]float64 // Hz, F1 F2 F3 where the consonant is closest
	antiHz  float64    // Hz, antiresonance of nasals
	noiseHz float64    // Hz, centre of friction or burst noise
	bandHz  float64    // Hz, its bandwidth
	noiseDB float64    // its level relative to the vowel
	dropDB  float64    // usual drop in level of the voice
	nudge   float64    // cents by which the pitch is pushed at the vowel's onset (obstruents)
}

// consonants, from memory: loci from Delattre, Liberman and Cooper, JASA 27 (1955) 769 (labial 720, alveolar 1800, velar 3000 before
// front vowels, here 2000 as a middle); voice onset times from Lisker and Abramson, Word 20 (1964) 384; noise
// centres and liquids from Klatt (1980) table III; pitch nudges from Hombert, Ohala and Ewan, Language 55 (1979) 37.
// Lengths and levels: inside the ranges of textbooks, adjusted to level contours of solo singing; own.
var consonants = []consonant{
	{name: "b", manner: plosive, voiced: true, seconds: 0.075, delay: 0.008, locus: [3]float64{220, 750, 2200}, noiseHz: 700, bandHz: 900, noiseDB: -20, nudge: -20},
	{name: "d", manner: plosive, voiced: true, seconds: 0.070, delay: 0.012, locus: [3]float64{220, 1800, 2700}, noiseHz: 4200, bandHz: 2500, noiseDB: -18, nudge: -20},
	{name: "g", manner: plosive, voiced: true, seconds: 0.075, delay: 0.020, locus: [3]float64{220, 2000, 2300}, noiseHz: 2000, bandHz: 700, noiseDB: -18, nudge: -20},
	{name: "p", manner: plosive, seconds: 0.110, delay: 0.035, locus: [3]float64{220, 750, 2200}, noiseHz: 700, bandHz: 900, noiseDB: -16, nudge: 25},
	{name: "t", manner: plosive, seconds: 0.110, delay: 0.040, locus: [3]float64{220, 1800, 2700}, noiseHz: 4200, bandHz: 2500, noiseDB: -12, nudge: 25},
	{name: "k", manner: plosive, seconds: 0.115, delay: 0.050, locus: [3]float64{220, 2000, 2300}, noiseHz: 2000, bandHz: 700, noiseDB: -14, nudge: 25},
	{name: "m", manner: nasal, voiced: true, seconds: 0.085, locus: rowM[Man], antiHz: antiresonanceM, dropDB: 6},
	{name: "n", manner: nasal, voiced: true, seconds: 0.080, locus: rowN[Man], antiHz: antiresonanceN, dropDB: 6},
	{name: "l", manner: approximant, voiced: true, seconds: 0.080, locus: [3]float64{350, 1150, 2800}, dropDB: 4},
	{name: "r", manner: approximant, voiced: true, seconds: 0.080, locus: [3]float64{340, 1150, 1450}, dropDB: 4},
	{name: "w", manner: approximant, voiced: true, seconds: 0.080, locus: [3]float64{290, 610, 2150}, dropDB: 3},
	{name: "y", manner: approximant, voiced: true, seconds: 0.080, locus: [3]float64{260, 2200, 3000}, dropDB: 2},
	{name: "sh", manner: fricative, seconds: 0.130, locus: [3]float64{300, 1840, 2750}, noiseHz: 3000, bandHz: 1800, noiseDB: -12, nudge: 25},
	{name: "s", manner: fricative, seconds: 0.130, locus: [3]float64{300, 1700, 2600}, noiseHz: 6200, bandHz: 2500, noiseDB: -14, nudge: 25},
	{name: "f", manner: fricative, seconds: 0.110, locus: [3]float64{300, 1000, 2100}, noiseHz: 6500, bandHz: 6000, noiseDB: -24, nudge: 25},
	{name: "v", manner: fricative, voiced: true, seconds: 0.075, locus: [3]float64{220, 1000, 2100}, noiseHz: 6500, bandHz: 6000, noiseDB: -30, dropDB: 8, nudge: -15},
	{name: "z", manner: fricative, voiced: true, seconds: 0.090, locus: [3]float64{240, 1700, 2600}, noiseHz: 6200, bandHz: 2500, noiseDB: -20, dropDB: 8, nudge: -15},
	{name: "h", manner: aspirate, seconds: 0.080, noiseDB: -14, nudge: 15},
	{name: "'", manner: glottal, seconds: 0.060, dropDB: 30, nudge: -30},
	{name: "-", manner: dip, voiced: true, seconds: 0.080, dropDB: 8},
}
