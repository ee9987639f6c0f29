package reportpage_test

import (
	"fmt"
	"strings"
	"time"

	"larkhand/internal/progress"
	"larkhand/internal/report"
	"larkhand/internal/reportpage"
)

func Example() {
	var out strings.Builder
	err := reportpage.Write(&out, reportpage.Report{
		Made: time.Date(2026, 11, 25, 18, 30, 0, 0, time.UTC), Program: "larkhand",
		Players: []report.ProgressView{{Player: "Miravel", Progress: progress.Of(nil)}},
	})
	fmt.Println(err, strings.Contains(out.String(), "There are 0 answers so far; below 30 nothing is claimed"))
	// Output: <nil> true
}
