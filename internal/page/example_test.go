package page_test

import (
	"fmt"
	"strings"

	"larkhand/internal/page"
)

func Example() {
	var out strings.Builder
	err := page.Write(&out, page.Page{Title: `The rounds of "A & B"`, Body: "<p>Nothing yet.</p>", Program: "larkhand"})
	fmt.Println(err, strings.Contains(out.String(), "<title>The rounds of &#34;A &amp; B&#34;</title>"), strings.Contains(out.String(), "abcjs"))
	// Output: <nil> true false
}
