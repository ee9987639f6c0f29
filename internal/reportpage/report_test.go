package reportpage_test

import (
	"bytes"
	"encoding/base64"
	"math"
	"regexp"
	"strings"
	"testing"

	"larkhand/internal/progress"
	"larkhand/internal/report"
	"larkhand/internal/reportpage"
	"larkhand/internal/soundfile"
	"larkhand/midiin"
)

func page(t *testing.T, r reportpage.Report) string {
	t.Helper()
	var out strings.Builder
	must(t, reportpage.Write(&out, r))
	return out.String()
}

// player is a report of so many rounds of one player, without pictures of rounds.
func player(sessions, each int) reportpage.Report {
	return reportpage.Report{Made: made, Program: "larkhand test", Total: sessions * each,
		Players: []report.ProgressView{{Player: "Miravel", Progress: progress.Of(season(sessions, each))}}}
}

// TestFewRoundsClaimNothing: below 30 answers no share is told as a percentage, nothing stands out, and no trend is drawn.
func TestFewRoundsClaimNothing(t *testing.T) {
	few, many := page(t, player(4, 7)), page(t, player(20, 6))
	for text, wanted := range map[string][2]bool{ // in the page of few, in that of many
		"below 30 nothing is claimed":     {true, false},
		"Of so few answers nothing is":    {true, false},
		"notes at first touch</dt>":       {false, true},
		"stands out: chance":              {false, true},
		`<tr class="look">`:               {false, true},
		`<line class="trend"`:             {false, true},
		"At degree b6: trouble in":        {false, true},
		"Your response time falls by":     {false, true},
		"<dt>known answers</dt><dd>":      {true, true},
		"A line shows the trend":          {false, true},
		"middle half":                     {false, true},
		"No trend is claimed":             {true, true},
		"Skip to the content":             {true, true},
		"ABCJS.renderAbc":                 {true, true},
		"Copyright (c) 2009-2026 Paul Ro": {false, false}, // no notation, so no abcjs
	} {
		for i, html := range []string{few, many} {
			if got := strings.Contains(html, text); got != wanted[i] {
				t.Errorf("%q in the page of %s rounds: %v, want %v", text, []string{"28", "120"}[i], got, wanted[i])
			}
		}
	}
}

// TestLinks: links stand on the page of a player who wrote steps down, with the key in which they fail, and on no other.
func TestLinks(t *testing.T) {
	r := player(20, 6)
	without := page(t, r)
	r.Players[0].Progress = progress.Of(withSteps(season(20, 6)))
	with := page(t, r)
	for _, text := range []string{
		"<h3>Links between voice and fingers</h3>", `<th scope="row">numbers to letters *</th><td>45 of 120</td>`, "<li>numbers to letters in Eb major: failed in 45 of 60 rounds",
		"<summary>Where numbers to letters failed</summary>", `<th scope="row">Eb major *</th><td>45 of 60</td>`, "Numbers to letters fails most in Eb major: 45 of 60 rounds",
	} {
		if !strings.Contains(with, text) || strings.Contains(without, text) {
			t.Errorf("%q in the page with links: %v, in that without: %v", text, strings.Contains(with, text), strings.Contains(without, text))
		}
	}
	if strings.Contains(with, "Where the voice failed") || strings.Contains(with, "Where letters to fingers failed") {
		t.Error("tables of a link that never failed")
	}
}

// TestNamesAreEscaped: no piece of a hostile name is markup anywhere in the page.
func TestNamesAreEscaped(t *testing.T) {
	html := page(t, full(t, hostile))
	for _, piece := range []string{"<script>alert", "<img", "</title><"} {
		if at := strings.Index(html, piece); at >= 0 {
			t.Errorf("%q stands in the page: %.80q", piece, html[at:])
		}
	}
	if n := strings.Count(html, "&lt;script&gt;alert(1)&lt;/script&gt;"); n < 100 {
		t.Errorf("the name stands escaped in %d places, want the list's 120 rounds and more", n)
	}
}

// TestLicence: where the notation's script is, its licence is.
func TestLicence(t *testing.T) {
	html := page(t, full(t, "Miravel"))
	for _, text := range []string{"abcjs_basic v6.7.2", "Copyright (c) 2009-2026 Paul Rosen and Gregory Dyke", `WITHOUT WARRANTY OF ANY KIND`} {
		if !strings.Contains(html, text) {
			t.Errorf("no %q in the page", text)
		}
	}
}

// TestSizes: the sounds in the page can be read, are as long as what was recorded, and too many are left out.
func TestSizes(t *testing.T) {
	r := full(t, "Miravel")
	html := page(t, r)
	uris := regexp.MustCompile(`data:audio/flac;base64,([A-Za-z0-9+/=]+)"`).FindAllStringSubmatch(strings.ReplaceAll(html, "&#43;", "+"), -1)
	if len(uris) != 6 {
		t.Fatalf("%d sounds in the page, want 6", len(uris))
	}
	for i, uri := range uris {
		data, err := base64.StdEncoding.DecodeString(uri[1])
		must(t, err)
		sound, err := soundfile.Decode("take", bytes.NewReader(data))
		must(t, err)
		if sound.Rate != 16000 && sound.Rate != 22050 || sound.Duration() < 5 {
			t.Errorf("sound %d: %d Hz, %.1f s", i, sound.Rate, sound.Duration())
		}
	}
	r.Rounds[1].Answer = reportpage.Sound{Data: make([]byte, reportpage.MostSound)}
	html = page(t, r)
	if n := strings.Count(html, "<audio"); n != 3 {
		t.Errorf("%d sounds, want those of the first round", n)
	}
	for _, text := range []string{"The sound of 1 round is left out", "The sound of this round is left out for want of room"} {
		if !strings.Contains(html, text) {
			t.Errorf("the page does not say %q", text)
		}
	}
}

// TestCompact keeps a tone and drops what would fold back.
func TestCompact(t *testing.T) {
	const rate, seconds = 48000, 1
	level := func(hz float64) float64 { // of the compact sound, dB against the tone
		samples := make([]float32, rate*seconds)
		for i := range samples {
			samples[i] = float32(0.5 * math.Sin(2*math.Pi*hz*float64(i)/rate))
		}
		compact, err := reportpage.Compact(samples, rate)
		must(t, err)
		sound, err := soundfile.Decode("tone", bytes.NewReader(compact.Data))
		must(t, err)
		if sound.Rate != 16000 || len(sound.Samples) != 16000*seconds {
			t.Fatalf("%d samples at %d Hz", len(sound.Samples), sound.Rate)
		}
		sum := 0.0
		for _, x := range sound.Samples[1000 : len(sound.Samples)-1000] {
			sum += float64(x) * float64(x)
		}
		return 10 * math.Log10(sum/float64(len(sound.Samples)-2000)/0.125)
	}
	if l := level(1000); math.Abs(l) > 0.05 {
		t.Errorf("a tone of 1000 Hz changes by %.2f dB", l)
	}
	if l := level(6500); math.Abs(l) > 0.5 {
		t.Errorf("a tone of 6500 Hz changes by %.2f dB", l)
	}
	if l := level(9000); l > -65 {
		t.Errorf("a tone of 9000 Hz folds back at %.0f dB", l)
	}
}

// TestAnswerSound: it sounds while keys are down and ends after the last; without keys there is silence.
func TestAnswerSound(t *testing.T) {
	sound, err := reportpage.AnswerSound([]midiin.Note{{Onset: 1, Offset: 2, Pitch: 69, Key: 69, Velocity: 80}})
	must(t, err)
	got, err := soundfile.Decode("answer", bytes.NewReader(sound.Data))
	must(t, err)
	if d := got.Duration(); math.Abs(d-2.5) > 0.01 {
		t.Errorf("it lasts %.2f s, want 2.5", d)
	}
	var before, during float32
	for i, x := range got.Samples {
		switch at := float64(i) / float64(got.Rate); {
		case at < 0.99:
			before = max(before, x, -x)
		case at > 1.1 && at < 1.9:
			during = max(during, x, -x)
		}
	}
	if before > 0.001 || during < 0.1 {
		t.Errorf("loudest %.3f before the key, %.3f while it is down", before, during)
	}
	if _, err := reportpage.AnswerSound(nil); err != nil {
		t.Error(err)
	}
}
