package musicxml

import "encoding/xml"

// The elements of the file, in the order in which the schema wants them.

type scorePartwise struct {
	XMLName  xml.Name   `xml:"score-partwise"`
	Version  string     `xml:"version,attr"`
	Work     work       `xml:"work"`
	ID       identified `xml:"identification"`
	PartList partList   `xml:"part-list"`
	Parts    []part     `xml:"part"`
}

type work struct {
	Title string `xml:"work-title"`
}

type identified struct {
	Encoding encoding `xml:"encoding"`
}

type encoding struct {
	Software string `xml:"software"`
}

type partList struct {
	Parts []scorePart `xml:"score-part"`
}

type scorePart struct {
	ID   string `xml:"id,attr"`
	Name string `xml:"part-name"`
}

type part struct {
	ID       string    `xml:"id,attr"`
	Measures []measure `xml:"measure"`
}

type measure struct {
	Number     int         `xml:"number,attr"`
	Attributes *attributes `xml:"attributes"`
	Direction  *direction  `xml:"direction"`
	Harmonies  []harmony   `xml:"harmony"`
	Notes      []note      `xml:"note"`
}

type attributes struct {
	Divisions int           `xml:"divisions"`
	Key       keySignature  `xml:"key"`
	Time      timeSignature `xml:"time"`
	Clef      clef          `xml:"clef"`
}

type keySignature struct {
	Fifths int    `xml:"fifths"`
	Mode   string `xml:"mode"`
}

type timeSignature struct {
	Beats    int `xml:"beats"`
	BeatType int `xml:"beat-type"`
}

type clef struct {
	Sign   string `xml:"sign"`
	Line   int    `xml:"line"`
	Octave int    `xml:"clef-octave-change,omitempty"`
}

type direction struct {
	Placement string        `xml:"placement,attr"`
	Type      directionType `xml:"direction-type"`
	Sound     sound         `xml:"sound"`
}

type directionType struct {
	Metronome metronome `xml:"metronome"`
}

type metronome struct {
	Unit      string `xml:"beat-unit"`
	PerMinute string `xml:"per-minute"`
}

type sound struct {
	Tempo string `xml:"tempo,attr"`
}

type harmony struct {
	Root   root  `xml:"root"`
	Kind   kind  `xml:"kind"`
	Bass   *bass `xml:"bass"`
	Offset int   `xml:"offset,omitempty"`
}

type root struct {
	Step  string `xml:"root-step"`
	Alter int    `xml:"root-alter,omitempty"`
}

type bass struct {
	Step  string `xml:"bass-step"`
	Alter int    `xml:"bass-alter,omitempty"`
}

type kind struct {
	Text  string `xml:"text,attr"`
	Value string `xml:",chardata"`
}

type note struct {
	Pitch        *pitch       `xml:"pitch"`
	Rest         *rest        `xml:"rest"`
	Duration     int          `xml:"duration"`
	Ties         []typed      `xml:"tie"`
	Voice        int          `xml:"voice"`
	Type         string       `xml:"type,omitempty"`
	Dots         []struct{}   `xml:"dot"`
	Accidental   string       `xml:"accidental,omitempty"`
	Modification *modified    `xml:"time-modification"`
	Notations    *notationsOf `xml:"notations"`
	Lyric        *lyric       `xml:"lyric"`
}

type pitch struct {
	Step   string `xml:"step"`
	Alter  int    `xml:"alter,omitempty"`
	Octave int    `xml:"octave"`
}

type rest struct {
	Measure string `xml:"measure,attr,omitempty"`
}

type typed struct {
	Type string `xml:"type,attr"`
}

type modified struct {
	Actual int `xml:"actual-notes"`
	Normal int `xml:"normal-notes"`
}

type notationsOf struct {
	Tied []typed `xml:"tied"`
}

type lyric struct {
	Syllabic string `xml:"syllabic"`
	Text     string `xml:"text"`
}
