package past

import (
	"larkhand/internal/round"
	"larkhand/internal/screen"
	"larkhand/internal/screen/draw"
)

// words are those of the verdict of a live round.
func words(r round.Round, st draw.Styles, width int) []string {
	return screen.Words(r, width, st.Colour)
}
