package round

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Every story is told on a loop of 4 bars of 2 s that starts at 0.25 s, with a bar of count-in, takes of 2 bars, and a bar of thinking,
// unless its setup says otherwise. From a start at 0 s, then, the count-in begins at 0.25, take 1 at 2.25, take 2 at 6.25, thinking
// at 10.25, the answer at 12.25 s and the verdict at 16.25 s.
var stories = []struct {
	name   string
	change func(*Setup)
	events []Event
	from   float64 // commands before are not looked at
}{
	{name: "on the form", events: []Event{press(0, GoOn), sing(3), rest(5), sing(7), rest(8.5), play(13, 60), let(13.5, 60), tick(20)}},
	{name: "no count-in", change: func(s *Setup) { s.CountInBars = 0 }, events: []Event{press(0, GoOn), tick(1)}},
	{name: "no thinking room", change: func(s *Setup) { s.ThinkingBars = 0 }, from: 7, events: []Event{press(0, GoOn), sing(3), sing(7), rest(8.5), play(10.5, 60), let(11, 60), tick(14.3)}},
	{name: "free thinking on the form", change: func(s *Setup) { s.ThinkingBars = FreeThinking }, from: 9, events: []Event{press(0, GoOn), sing(3), rest(4), sing(7), rest(8.5), tick(50), play(50.5, 60), let(51, 60), tick(60)}},
	{name: "lead-in from the top", change: func(s *Setup) { s.LeadIn, s.FromTop = true, true }, events: []Event{press(0, GoOn), tick(8.3)}},
	{name: "lead-in, then the count-in", change: func(s *Setup) { s.LeadIn = true }, events: []Event{press(0, GoOn), tick(10.3)}},
	{name: "verdict until the top of the form", change: func(s *Setup) { s.FromTop = true }, from: 20, events: []Event{press(0, GoOn), sing(9), rest(10), sing(13), rest(14), play(20, 60), let(21, 60), tick(34)}},
	{name: "verdict until go on", change: func(s *Setup) { s.VerdictBars = 0 }, from: 16, events: []Event{press(0, GoOn), sing(3), rest(4), sing(7), rest(8), play(13, 60), let(14, 60), tick(61), press(62, GoOn), tick(63)}},
	{name: "an upbeat belongs to the take that it leads into", from: 2, events: []Event{press(0, GoOn), sing(1.6), rest(4), sing(6), rest(8), tick(10.25)}},
	{name: "a last note held over its bar line is not cut", from: 6, events: []Event{press(0, GoOn), sing(3), rest(6.5), sing(7), tick(10.8)}},
	{name: "singing on over the bar line is parted where it pauses", from: 6, events: []Event{press(0, GoOn), sing(3), {Kind: VoicePaused, Time: 6.45, Since: 6.3}, rest(8), tick(8)}},
	{name: "singing on is parted at a pause just before the bar line", from: 6, events: []Event{press(0, GoOn), sing(3), {Kind: VoicePaused, Time: 6.2, Since: 6.05}, tick(8)}},
	{name: "a voice that ended just before the bar line", from: 6, events: []Event{press(0, GoOn), sing(3), {Kind: VoiceEnded, Time: 6.4, Since: 6.1}, tick(8)}},
	{name: "a held note ends when the keys are struck", change: func(s *Setup) { s.ThinkingBars = 0 }, from: 9, events: []Event{press(0, GoOn), sing(3), rest(5), sing(7), play(10.5, 60), tick(11)}},
	{name: "the first note anticipates the bar line", change: func(s *Setup) { s.ThinkingBars = 0 }, from: 9, events: []Event{press(0, GoOn), sing(3), rest(5), sing(7), rest(9), play(10.1, 60), let(10.3, 60), tick(14.3)}},
	{name: "a note in the thinking room begins the answer", from: 10, events: []Event{press(0, GoOn), sing(3), rest(5), sing(7), rest(9), play(11, 60), let(11.3, 60), tick(16.3)}},
	{name: "an answer under way gets more bars", from: 12, events: []Event{press(0, GoOn), sing(3), rest(5), sing(7), rest(9), play(13, 60), let(13.3, 60), play(16, 62), let(17, 62), tick(21)}},
	{name: "an answer is ended by going on", from: 12, events: []Event{press(0, GoOn), sing(3), rest(5), sing(7), rest(9), play(13, 60), let(13.3, 60), press(13.5, GoOn)}},
	{name: "no answer", from: 12, events: []Event{press(0, GoOn), sing(3), rest(5), sing(7), rest(9), tick(21)}},
	{name: "nobody there", from: 6, events: []Event{press(0, GoOn), tick(50)}},
	{name: "parts are shortened to the next bar line", events: []Event{press(0, GoOn), press(0.6, GoOn), tick(3), press(3.1, GoOn), tick(5), press(5, GoOn), tick(6.3), press(6.6, GoOn), tick(8.3)}},
	{name: "one press is not two", from: 2, events: []Event{press(0, GoOn), tick(2.3), press(2.4, GoOn), tick(6.2)}},

	{name: "free", change: free, events: []Event{press(0, GoOn), tick(10), sing(11), rest(14), sing(15), rest(17), tick(18.5), sing(20), rest(22), tick(23.5), tick(40), play(41, 60), let(41.4, 60), play(42, 62), let(42.3, 62), tick(46)}},
	{name: "free, answered at once", change: free, from: 20, events: []Event{press(0, GoOn), sing(11), rest(14), tick(15.5), sing(20), rest(22), play(22.8, 60), let(23, 60), tick(27)}},
	{name: "free, answered before the voice is known to have ended", change: free, from: 20, events: []Event{press(0, GoOn), sing(11), rest(14), tick(15.5), sing(20), play(22.1, 60), {Kind: VoiceEnded, Time: 22.3, Since: 22}, let(23, 60), tick(27)}},
	{name: "free, long silence is not kept", change: free, from: 2, events: []Event{press(0, GoOn), tick(50), sing(51), rest(52), tick(54)}},
	{name: "free, steps by hand", change: free, from: 2, events: []Event{press(0, GoOn), tick(2.3), press(4, GoOn), press(6, GoOn), press(8, GoOn), press(10, GoOn)}},
	{name: "no loop", change: func(s *Setup) { *s = Setup{Timing: NoLoop, VerdictBars: 1} }, events: []Event{press(0, GoOn), sing(1), rest(3), tick(4.5), sing(6), rest(8), tick(9.5), play(12, 60), let(12.5, 60), tick(20)}},
	{name: "a voice without end", change: free, from: 2, events: []Event{press(0, GoOn), tick(2.3), sing(3), tick(60), tick(119), tick(123)}},
	{name: "a key without end", change: free, from: 22, events: []Event{press(0, GoOn), sing(3), rest(4), tick(6), sing(7), rest(8), tick(10), play(23, 60), tick(80), tick(140), tick(200), tick(260), tick(264)}},

	{name: "a pedal goes on, but not in the answer", change: func(s *Setup) { free(s); s.GoOnPedal = true }, events: []Event{pedal(0), pedal(0.1), tick(2.3), sing(3), pedal(4), sing(5), pedal(6), pedal(7), play(8, 60), pedal(8.1), let(8.5, 60), tick(11.5), pedal(13)}},
	{name: "a chosen key goes on and is no note", change: func(s *Setup) { free(s); s.GoOnKey = 36 }, events: []Event{play(0, 36), let(0.2, 36), tick(2.3), sing(3), play(4, 36), sing(5), play(6, 36), play(7, 36), let(7.1, 36), play(8, 60), let(8.5, 60), play(8.6, 36)}},
	{name: "pedal and key do nothing unless asked for", events: []Event{pedal(0), play(1, 36), tick(2)}},

	{name: "repeat in take 2", from: 8, events: []Event{press(0, GoOn), sing(3), rest(5), press(8, Repeat), tick(11)}},
	{name: "repeat at the verdict", change: pair, from: 16.5, events: []Event{press(0, GoOn), sing(3), rest(4), sing(7), rest(8), play(13, 60), let(14, 60), press(17, Repeat), tick(21)}},
	{name: "repeat in the count-in", from: 1, events: []Event{press(0, GoOn), press(1, Repeat), tick(3)}},
	{name: "skip passes the turn and keeps the take", change: pair, from: 7, events: []Event{press(0, GoOn), sing(3), rest(4), press(7, Skip), tick(11)}},
	{name: "skip at the verdict", from: 16.5, events: []Event{press(0, GoOn), sing(3), rest(4), sing(7), rest(8), play(13, 60), let(14, 60), press(17, Skip), tick(21)}},
	{name: "another key under way comes with the next round", from: 16, events: []Event{press(0, GoOn), sing(3), rest(4), sing(7), rest(8), press(9, AnotherKey), play(13, 60), let(14, 60), tick(23)}},
	{name: "faster before the round starts it anew", from: 1, events: []Event{press(0, GoOn), press(1, Faster), tick(4)}},
	{name: "slower at the verdict, with lead-in", change: func(s *Setup) { s.LeadIn, s.FromTop = true, true }, from: 24, events: []Event{press(0, GoOn), sing(9), rest(10), sing(13), rest(14), play(20, 60), let(21, 60), {Kind: Pressed, Time: 25, Action: Slower, Amount: 40}, tick(50)}},
	{name: "a tempo that is none stays", from: 1, events: []Event{press(0, GoOn), {Kind: Pressed, Time: 1, Action: Slower, Amount: 110}, tick(2)}},
	{name: "mute and bring back", from: 1, events: []Event{press(0, GoOn), {Kind: Pressed, Time: 1, Action: Mute, Amount: int(Bass | Click)}, {Kind: Pressed, Time: 2, Action: Mute, Amount: int(Bass)}}},
	{name: "stop in a take keeps it", from: 3, events: []Event{press(0, GoOn), sing(3), press(4, Stop), press(5, GoOn), tick(6)}},
	{name: "quit in the answer keeps it", from: 13, events: []Event{press(0, GoOn), sing(3), rest(4), sing(7), rest(8), play(13, 60), press(13.5, Quit), press(14, GoOn)}},

	{name: "a circle of two", change: pair, events: []Event{press(0, GoOn), sing(3), rest(4), sing(7), rest(8), play(13, 60), let(14, 60), sing(23), rest(24), sing(27), rest(28), play(33, 60), let(34, 60), tick(40.5)}},
	{name: "a circle hears only who is at the microphone", change: apart, from: 2, events: []Event{press(0, GoOn), from("right", sing(3)), tick(6.3), from("left", sing(7)), rest(8), from("b", play(13, 60)), from("a", play(13.5, 60)), tick(14)}},

	{name: "microphone gone in take 1", from: 4, events: []Event{press(0, GoOn), sing(3), lost(4, Microphone), tick(8), found(9, Microphone), tick(13)}},
	{name: "microphone gone in the answer does no harm", from: 13, events: []Event{press(0, GoOn), sing(3), rest(4), sing(7), rest(8), play(13, 60), let(13.5, 60), lost(14, Microphone), tick(21), found(22, Microphone), tick(24)}},
	{name: "speaker gone in the count-in", from: 1, events: []Event{press(0, GoOn), lost(1, Speaker), found(2, Speaker), tick(3)}},
	{name: "speaker gone in the answer", from: 13, events: []Event{press(0, GoOn), sing(3), rest(4), sing(7), rest(8), play(13, 60), let(13.5, 60), lost(14, Speaker), found(15, Speaker), tick(21)}},
	{name: "MIDI port gone in the answer", from: 13, events: []Event{press(0, GoOn), sing(3), rest(4), sing(7), rest(8), play(13, 60), lost(14, Keyboard), found(15, Keyboard), tick(16)}},
	{name: "MIDI port gone in take 1 and back in time", from: 3, events: []Event{press(0, GoOn), sing(3), lost(4, Keyboard), rest(5), found(6, Keyboard), sing(7), rest(9), tick(12.3)}},
	{name: "MIDI port gone and not back", from: 9, events: []Event{press(0, GoOn), sing(3), lost(4, Keyboard), rest(5), sing(7), rest(9), tick(12.3)}},
	{name: "no microphone at the start", events: []Event{lost(0, Microphone), press(1, GoOn), found(2, Microphone), tick(3)}},
	{name: "another player's microphone gone does no harm", change: apart, from: 4, events: []Event{press(0, GoOn), sing(3), from("right", lost(4, Microphone)), tick(6.3)}},
	{name: "the machine slept", from: 3, events: []Event{press(0, GoOn), sing(3), tick(4), tick(4000), press(4001, GoOn)}},

	{name: "warnings about the microphone, each once in a while", from: 1, events: []Event{press(0, GoOn), trouble(1, MicrophoneLow), trouble(2, MicrophoneLow), trouble(3, MicrophoneClipped), trouble(4, MicrophoneSilent), trouble(4.1, MicrophoneHum), trouble(4.2, Bleed), sing(7), tick(11), trouble(12.3, MicrophoneClipped)}},
	{name: "overrun", from: 3, events: []Event{press(0, GoOn), sing(3), {Kind: Overrun, Time: 3.5, Seconds: 0.128}, tick(4)}},
	{name: "what cannot be judged is said", from: 16.5, events: []Event{press(0, GoOn), sing(3), rest(4), sing(7), rest(8), play(13, 60), let(14, 60), tick(16.3), {Kind: CannotJudge, Time: 16.6, Text: "take 2 is silent"}}},
	{name: "louder or softer plays the loop alone again", change: func(s *Setup) { s.LeadIn, s.FromTop = true, true }, from: 24, events: []Event{press(0, GoOn), sing(9), rest(10), sing(13), rest(14), play(20, 60), let(21, 60), {Kind: VolumeChanged, Time: 25}, tick(42)}},

	{name: "both steps", change: written, from: 9, events: told(write(14.25, "1 1 2 3"), write(20.25, "c c d eb"), tick(60), play(63, 60), let(63.5, 60), tick(64.25), tick(68.25))},
	{name: "both steps, free", change: func(s *Setup) { free(s); s.Steps = true }, from: 9, events: told(write(14, "1123"), write(20, "ccdeb"), tick(60), play(63, 60), let(63.5, 60), tick(66.5))},
	{name: "the numbers are left out", change: written, from: 9, events: told(press(14, GoOn), write(20.25, "C C D Eb"), play(23, 60), let(23.5, 60), tick(28.25))},
	{name: "the letters are left out by writing nothing", change: written, from: 9, events: told(write(14.25, "1 1 2 3"), write(20.25, "  "), play(23, 60), let(23.5, 60), tick(28.25))},
	{name: "both are left out", change: written, from: 9, events: told(press(14, GoOn), press(16, GoOn), press(18, GoOn), tick(24.25))},
	{name: "a first note while numbers are written", change: written, from: 9, events: told(play(13, 60), write(13.2, "1 1 2 3"), let(13.5, 60), tick(18.25))},
	{name: "a first note while letters are written keeps the numbers", change: written, from: 9, events: told(write(14.25, "1 1 2 3"), play(16, 60), let(16.5, 60), tick(20.25))},
	{name: "what cannot be read is refused, and again", change: written, from: 9, events: told(write(14, "1 1 2 9"), write(15, "C C"), write(16.25, "1 1 2 3"), write(17, "H"), write(18.25, "C C D Eb"), press(19, Skip))},
	{name: "steps by a key press, before take 2 is over and after", from: 6, events: []Event{press(0, GoOn), sing(3), rest(5), sing(7), press(8, Steps), rest(9), tick(10.5), press(11, Steps), write(12.25, "1"), write(13.25, "C"), press(14, GoOn), tick(20), tick(24.3), sing(25), rest(26), tick(29), sing(29), rest(30), tick(32.5), sing(33), rest(34), tick(36.5)}},

	{name: "sing again on the form", change: written, from: 9, events: told(write(14.25, "1 1 2 3"), press(15, SingAgain), tick(16.25), sing(16.5), rest(19), tick(20.25), write(25.25, "1 1 2"), press(26, GoOn), play(27, 60), let(27.5, 60), tick(32.25))},
	{name: "sing again from the top", change: func(s *Setup) { written(s); s.FromTop = true }, from: 9, events: told(press(15, SingAgain), tick(18.25), sing(18.5), rest(19), tick(22.25), press(23, Quit))},
	{name: "sing again, shortened to the next bar line", change: func(s *Setup) { written(s); s.FromTop = true }, from: 9, events: told(press(11, SingAgain), press(12, GoOn), tick(12.25), tick(17), press(18, Quit))},
	{name: "sing again, free", change: func(s *Setup) { free(s); s.Steps = true }, from: 9, events: told(press(15, SingAgain), sing(16), rest(19), tick(20.5), press(26, GoOn), play(27, 60), let(27.5, 60), tick(31))},
	{name: "sing again in the thinking room with bars", from: 9, events: told(press(11, SingAgain), tick(12.25), sing(13), rest(15), tick(18.25), play(20, 60), let(20.5, 60), tick(24))},
	{name: "faster while take 2 is to be sung again waits for the next round", change: written, from: 14, events: told(press(15, SingAgain), press(15.5, Faster), tick(16.25), sing(16.5), rest(19), press(21, Stop))},
	{name: "repeat while take 2 is to be sung again", change: written, from: 14, events: told(press(15, SingAgain), press(15.5, Repeat), tick(21))},

	{name: "a take is heard in the thinking room with bars", from: 9, events: told(press(11, HearTake), began(11.1, 4), tick(13), tick(20), play(21, 60), let(21.5, 60), tick(26.25))},
	{name: "a second press ends the sound, and so does going on", change: written, from: 9, events: told(press(12, HearTake), began(12.1, 4), press(13, HearTake), Event{Kind: Pressed, Time: 14, Action: HearTake, Amount: 1}, began(14.1, 4), press(15, HearNotes), began(16, 4), press(17, GoOn), press(18, GoOn), press(19, GoOn))},
	{name: "going on while the key note sounds goes on", change: written, from: 9, events: told(press(12, HearKey), began(12.1, 2), press(13, GoOn), press(13.5, HearChord), began(13.6, 2), tick(16), press(16.5, HearChord), began(16.6, 2), play(17, 60))},
	{name: "the key note before the start and while the loop is alone", change: func(s *Setup) { s.LeadIn = true }, events: []Event{press(0, HearKey), began(0.1, 2), press(1, GoOn), press(2, HearKey), began(2.1, 2), press(3, HearTake), press(8.5, HearChord), tick(10)}},
	{name: "nothing is heard while the microphone records", from: 3, events: []Event{press(0, GoOn), sing(3), press(4, HearKey), press(4.1, HearTake), press(4.2, SingAgain), press(4.3, Pieces), press(4.4, Misheard), tick(5)}},
	{name: "a sound that cannot be made", change: written, from: 11, events: told(press(12, HearNotes), began(12.1, 0), press(13, HearNotes), began(13.1, 3), press(14, HearNotes))},
	{name: "at the verdict it stands while somebody listens", from: 14, events: told(play(13, 60), let(14, 60), press(17, HearTake), began(17.1, 4), tick(30), press(31, Misheard), press(32, Misheard), press(33, GoOn))},

	{name: "in pieces, with a hearing between them", change: written, from: 9, events: told(press(11, Pieces), play(13, 60), let(13.4, 60), play(13.5, 60), let(13.9, 60), press(20, HearTake), began(20.1, 4), play(26, 62), let(26.4, 62), press(26.5, HearKey), began(26.6, 2), play(27, 63), let(27.4, 63), tick(60), press(61, GoOn))},
	{name: "in pieces, a pause and a key held into it", change: free, from: 9, events: told(press(11, Pieces), play(13, 60), let(13.4, 60), play(14.8, 60), let(15, 60), play(16.6, 62), play(19.7, 63), let(19.7, 62), play(20, 65), tick(60), press(61, GoOn))},
	{name: "in pieces after all, in the midst of the answer", from: 12, events: told(play(13, 60), let(13.4, 60), press(14, Pieces), tick(30), play(31, 62), let(31.5, 62), press(33, GoOn))},
	{name: "in pieces no longer", change: free, from: 9, events: told(press(11, Pieces), press(12, Pieces), play(13, 60), let(13.4, 60), tick(20))},
	{name: "in pieces, forgotten", change: free, from: 9, events: told(press(11, Pieces), play(13, 60), let(13.4, 60), tick(60), tick(110), tick(160), tick(210), tick(260), tick(310), tick(360), tick(410), tick(460), tick(510), tick(560), tick(610), tick(660), tick(710), tick(760), tick(810), tick(860), tick(912), tick(914))},

	{name: "misheard, with steps", change: written, from: 9, events: told(press(12, Misheard), press(13, Misheard), press(14, Misheard), write(15.25, "1 1 2 3"), press(16, GoOn), play(17, 60), let(17.5, 60), tick(22.25), press(23, Misheard))},

	{name: "MIDI port gone while numbers are written, and back", change: written, from: 9, events: told(lost(12, Keyboard), write(14.25, "1 1 2 3"), write(15.25, "C C D Eb"), found(16, Keyboard), play(17, 60), let(17.5, 60), tick(22.25))},
	{name: "MIDI port gone while numbers are written, and not back", change: written, from: 9, events: told(lost(12, Keyboard), write(14.25, "1 1 2 3"), press(15, GoOn), press(16, GoOn), found(17, Keyboard), press(18, GoOn))},
	{name: "microphone gone when take 2 is to be sung again", change: written, from: 9, events: told(lost(12, Microphone), press(13, SingAgain), found(14, Microphone), press(15, SingAgain), lost(15.5, Microphone), tick(20))},
	{name: "speaker gone while a take sounds", change: written, from: 9, events: told(press(12, HearTake), began(12.1, 4), lost(13, Speaker), press(14, HearTake), found(15, Speaker), press(16, HearTake))},
	{name: "the machine slept over the letters", change: written, from: 12, events: told(write(14.25, "1 1 2 3"), press(15, HearKey), tick(4000), press(4001, GoOn))},
	{name: "quit in the numbers", change: written, from: 12, events: told(press(13, HearKey), press(14, Quit))},
	{name: "quit in the letters keeps the numbers", change: written, from: 12, events: told(write(14.25, "1 1 2 3"), press(15, Quit))},
	{name: "quit in the thinking room after both", change: written, from: 12, events: told(write(14.25, "1 1 2 3"), write(15.25, "C C D Eb"), press(16, Quit))},
	{name: "quit while take 2 is to be sung again", change: written, from: 12, events: told(press(15, SingAgain), press(15.5, Quit))},
	{name: "quit in an answer in pieces", change: written, from: 12, events: told(press(12, Pieces), play(13, 60), let(13.4, 60), play(16, 62), press(17, Quit))},
	{name: "a circle of two with steps", change: func(s *Setup) { apart(s); s.Steps = true }, from: 9, events: told(from("b", write(14.25, "1 1 2 3")), write(15.25, "C C D Eb"), from("a", play(16, 60)), from("b", play(17, 60)), from("b", let(17.5, 60)), tick(22.25), tick(30.3), from("right", sing(31)), rest(32), tick(36.3), press(37, Quit))},
}

// told are the takes of a round on which the stories about numbers and letters, hearing and pieces build, and what follows them.
func told(after ...Event) []Event {
	return append([]Event{press(0, GoOn), sing(3), rest(5), sing(7), rest(9), tick(10.5)}, after...)
}

func written(s *Setup) { s.Steps = true }
func free(s *Setup)    { s.Timing = Free }
func pair(s *Setup)    { s.Players = []Person{{Name: "Alma"}, {Name: "Bero"}} }
func apart(s *Setup) {
	s.Players = []Person{{"Alma", "left", "a"}, {"Bero", "right", "b"}}
}
func pedal(at float64) Event              { return Event{Kind: PedalDown, Time: at} }
func from(device string, e Event) Event   { e.Device = device; return e }
func trouble(at float64, w Warning) Event { return Event{Kind: Level, Time: at, Trouble: w} }

var update = flag.Bool("update", false, "write testdata/stories.txt anew")

// Every story is told in testdata/stories.txt, which was read line by line against what should happen.
func TestStories(t *testing.T) {
	var told strings.Builder
	for _, s := range stories {
		setup := form(t)
		if s.change != nil {
			s.change(&setup)
		}
		m := NewMachine(setup)
		fmt.Fprintf(&told, "== %s\n", s.name)
		for _, e := range s.events {
			for _, c := range m.Handle(e) {
				if c.At >= s.from {
					told.WriteString(line(c) + "\n")
				}
			}
		}
	}
	path := filepath.Join("testdata", "stories.txt")
	if *update {
		if err := os.WriteFile(path, []byte(told.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	got, want := strings.Split(told.String(), "\n"), strings.Split(string(data), "\n")
	for i := range min(len(got), len(want)) {
		if got[i] != want[i] {
			t.Fatalf("line %d: %q, want %q\n%s", i+1, got[i], want[i], strings.Join(got[max(0, i-10):min(len(got), i+5)], "\n"))
		}
	}
	if len(got) != len(want) {
		t.Fatalf("%d lines, want %d", len(got), len(want))
	}
}
