package plan

import (
	"fmt"
	"strings"

	"larkhand/internal/ladder"
	"larkhand/internal/music"
)

// chanceFrom is from how many tries on a chance is told. Own: before that it is a guess.
const chanceFrom = 10

// Turn names who sings and who plays; both are "" where there is one player.
type Turn struct{ Singer, Player string }

// Text is the sentence that proposes a size: "Next: five notes with one leap of a fourth, between about A3 and E4." sung are the singer's pitches, oldest first; they
// are spelled in the key, where there is one.
func (p Proposal) Text(turn Turn, sung []int, key *music.Key) string {
	if key == nil {
		key = &music.Key{}
	}
	text := "Next"
	if turn.Player != "" {
		text += fmt.Sprintf(", %s for %s", turn.Singer, turn.Player)
	}
	text += ": " + p.Name
	if low, high, ok := Range(sung, p.Size); ok {
		text += fmt.Sprintf(", between about %s and %s", key.Letter(low), key.Letter(high))
	}
	return text + "."
}

// Why are the reasons for a size after so many tries.
func (p Proposal) Why(tries int) []string {
	why := []string{p.Reason}
	if tries >= chanceFrom {
		why = append(why, fmt.Sprintf("An answer of this size would be known about %.0f times in 100; the aim is about %.0f.", 100*p.Chance, 100*ladder.Aim))
	}
	return why
}

// PhraseText is the sentence that proposes a kept phrase in a key: "Sing Rain in Ab, then play it."
func PhraseText(turn Turn, name string, key music.Key) string {
	in := strings.TrimSuffix(key.String(), " major")
	if turn.Player == "" {
		return fmt.Sprintf("Sing %s in %s, then play it.", name, in)
	}
	return fmt.Sprintf("%s sings %s in %s, %s plays it.", turn.Singer, name, in, turn.Player)
}
