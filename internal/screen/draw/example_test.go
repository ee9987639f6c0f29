package draw_test

import (
	"fmt"

	"larkhand/internal/screen/draw"
)

// A page has exactly the lines that it was asked for.
func ExamplePage() {
	body := []string{draw.Ends("Larkhand", "Miravel", 20)}
	fmt.Println(draw.Page(body, []string{"q quit"}, 20, 3))
	// Output:
	// Larkhand     Miravel
	//
	// q quit
}
