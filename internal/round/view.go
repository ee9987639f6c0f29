package round

import "larkhand/internal/music"

// View is what screens show of the machine at one moment. It shares nothing with the machine.
type View struct {
	Part     Part
	PartName string // as shown: "take 1"
	Prompt   string // one short sentence: what to do now
	Round    int    // number of the round, from 1; 0 before the first

	Singer, Player Person // of this round
	Turn           Person // whose turn it is in this part: the singer's up to take 2, then the player's

	HasLoop bool // a loop is running; without one the fields of this group are empty
	Chord   music.Chord
	Next    music.Chord // the next other chord
	NextIn  float64     // s until Next
	Chorus  int         // time through the chart, from 1
	Bar     int         // bar of the chart, from 1
	Bars    int         // bars of the chart
	Beat    int         // beat of the bar, from 1
	Beats   int         // beats a bar
	Through float64     // part of the beat that is over, 0 up to 1

	Open        bool    // the part has no end of its own: it waits for the voice, a note or a key press
	BarsLeft    int     // whole bars until the part ends; 0 where Open or without a loop
	BeatsLeft   int     // beats besides BarsLeft, begun ones counted; 0 where Open or without a loop
	SecondsLeft float64 // s until the part ends; 0 where Open
	Elapsed     float64 // s since the part began

	Singing bool // the voice sounds
	Playing bool // a key is down

	Key   *music.Key // of this round; nil where it is guessed
	Tempo float64    // quarters a minute of the loop; 0 with NoLoop
	Muted Backing

	NextTempo float64    // of the next round, where it was changed under way; else Tempo
	NextKey   *music.Key // of the next round

	Learning  bool // the next MIDI key or pedal goes on from then on
	GoOnKey   int  // MIDI key that goes on; 0 for none
	GoOnPedal bool // the sustain pedal goes on

	Steps    bool // numbers and letters are written down, in this round where take 2 is not over, else in the next
	InPieces bool // the answer is played in pieces
	Piece    int  // the piece that is being played or comes next, from 1; 0 where the answer is played in one
	Misheard bool // the round under way or at its verdict is marked as misheard

	Sound    Sound   // that is heard now, or is about to be
	Sounding string  // Sound in words: "take 2", "the key note C"; "" for nothing
	SoundFor float64 // s since it began to sound; 0 before

	WaitsFor string   // the device that is waited for, such as "microphone"; "" for none
	Can      []Action // what a key press would do now
}
