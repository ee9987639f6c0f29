package main

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"larkhand/internal/data/sightsing"
	"larkhand/internal/data/vocadito"
	"larkhand/internal/metrics"
	"larkhand/internal/soundfile"
)

// peerRow is what one listener made of the clips and of the song.
type peerRow struct {
	name, missing string
	clips         noteCount
	song          [2]noteCount
	cpu           float64 // CPU seconds per second of the clips
}

// peers lets all listeners hear the clips and the song, one after another and alone, since they are timed.
func peers(root string, clips []sightsing.Clip) ([]peerRow, error) {
	var recordings []recording
	total := 0.0
	for _, clip := range clips {
		sound, err := soundfile.Read(clip.Sound)
		if err != nil {
			return nil, err
		}
		r := recording{sound.Samples, sound.Rate, soundingNotes(clip)}
		recordings = append(recordings, r)
		total += r.seconds()
	}
	song, err := vocadito.Load(filepath.Join(root, "vocadito"))
	if err != nil {
		return nil, err
	}
	sound, err := soundfile.Read(song.Sound)
	if err != nil {
		return nil, err
	}
	var rows []peerRow
	for _, l := range listeners() {
		row := peerRow{name: l.name, missing: l.missing}
		if l.missing == "" {
			notes, cpu, err := l.hear(recordings)
			if err != nil {
				return nil, err
			}
			row.cpu = cpu / total
			for i, r := range recordings {
				row.clips.addNotes(r.ref, notes[i])
			}
			sung, _, err := l.hear([]recording{{samples: sound.Samples, rate: sound.Rate}})
			if err != nil {
				return nil, err
			}
			for a := range row.song {
				row.song[a].addNotes(song.Notes[a], sung[0])
			}
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// peerTables lays out the outcome.
func peerTables(rows []peerRow, which string, g *goals) []table {
	t := table{title: "Peers: the same clips, the same scorer (" + which + ")",
		head: []string{"from", "COn", "COnP", "COnPOff", "NSERtol", "CPU s per s", "song COn", "COnP", "NSERtol"}}
	for _, row := range rows {
		if row.missing != "" {
			t.add(append([]string{row.name + ", skipped: " + row.missing}, slices.Repeat([]string{"-"}, len(t.head)-1)...)...)
			continue
		}
		song := row.song[0]
		song.add(row.song[1])
		t.add(row.name, row.clips.f(row.clips.on), row.clips.f(row.clips.pitch), row.clips.f(row.clips.off), fmt.Sprintf("%.3f", row.clips.noteErrorRate()),
			fmt.Sprintf("%.4f", row.cpu), song.f(song.on), song.f(song.pitch), fmt.Sprintf("%.3f", song.noteErrorRate()))
	}
	t.notes = []string{
		"fit: one and the same piecewise-constant Viterbi search with a split at dips of 9 dB (6 dB does worse), its constants chosen on the set tune for praat's pitch.",
		"CPU: user and system time, one after another on this machine, without writing the sound files; song: both annotators pooled.",
	}
	errorRatio, cpuRatio := math.NaN(), math.NaN()
	if self, other := rows[0], rows[1]; other.missing == "" {
		errorRatio, cpuRatio = self.clips.noteErrorRate()/other.clips.noteErrorRate(), self.cpu/other.cpu
	}
	g.most("NSERtol over that of the autocorrelation program with a fit", errorRatio, 1, rateFormat)
	g.most("CPU s per s over that of the autocorrelation program with a fit", cpuRatio, 1, rateFormat)
	g.least("times faster than real time on one core", 1/rows[0].cpu, speedTarget, "%.0f")
	return []table{t}
}

// speedTarget: pitch and notes of a take, times real time.
const speedTarget = 300

// f is the F of matched notes.
func (c noteCount) f(matched int) string {
	return fmt.Sprintf("%.3f", metrics.FromCounts(matched, c.ref, c.est).F)
}

// peerHeads are the heads of the columns of peerRates.
func peerHeads() []string {
	var out []string
	for _, l := range listeners()[1:] {
		if l.missing == "" {
			first, _, _ := strings.Cut(l.name, ",")
			out = append(out, "NSERtol of "+first)
		}
	}
	return out
}

// peerRates are the note error rates of the peers that are at hand, of counts by listener.
func peerRates(counts []noteCount) []string {
	var out []string
	for i, l := range listeners() {
		if i > 0 && l.missing == "" {
			out = append(out, fmt.Sprintf("%.3f", counts[i].noteErrorRate()))
		}
	}
	return out
}
