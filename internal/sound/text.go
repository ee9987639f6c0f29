package sound

import (
	"fmt"
	"io"
	"strings"
	"unicode"

	"larkhand/internal/delay"
)

const msPerSecond = 1000

// Text writes the list as a person reads it, in lines of at most 80 columns where the names allow it; or one sentence
// where nothing was found.
func (l List) Text(w io.Writer) error {
	var b strings.Builder
	if l.Empty() {
		b.WriteString("No microphone, speaker or MIDI port was found; plug one in and ask again.\n")
	} else {
		writeDevices(&b, "Microphones", l.Microphones)
		writeDevices(&b, "Speakers", l.Speakers)
		writePorts(&b, "MIDI inputs", l.MIDIInputs)
		writePorts(&b, "MIDI outputs", l.MIDIOutputs)
		if hasDefault(l.Microphones) || hasDefault(l.Speakers) {
			b.WriteString("\n* is taken where none is named.\n")
		}
	}
	writeDelays(&b, l.Delays)
	for _, remark := range l.Remarks {
		fmt.Fprintf(&b, "Note: %s.\n", remark)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func writeDevices(b *strings.Builder, title string, devices []Device) {
	writeTitle(b, title)
	for i, d := range devices {
		mark := " "
		if d.Default {
			mark = "*"
		}
		fmt.Fprintf(b, "  %s %d  %s\n         %s, %s, latency %s\n         %s\n", mark, i+1, printable(d.Name),
			printable(d.System), channels(d.Channels), latency(d), rateList(d))
	}
	writeNone(b, len(devices))
}

func writePorts(b *strings.Builder, title string, ports []Port) {
	writeTitle(b, title)
	for i, p := range ports {
		fmt.Fprintf(b, "    %d  %s\n", i+1, printable(p.Name))
	}
	writeNone(b, len(ports))
}

// writeTitle begins a block, an empty line after the one before.
func writeTitle(b *strings.Builder, title string) {
	if b.Len() > 0 {
		b.WriteString("\n")
	}
	b.WriteString(title + "\n")
}

func writeNone(b *strings.Builder, n int) {
	if n == 0 {
		b.WriteString("    none\n")
	}
}

// writeDelays writes what is remembered of delays, if there is any.
func writeDelays(b *strings.Builder, s delay.Store) {
	if s.Empty() {
		return
	}
	writeTitle(b, "Measured delays")
	for _, r := range s.Round {
		fmt.Fprintf(b, "    %s to %s\n         %s\n", printable(r.Speaker), printable(r.Microphone), measured(r.Kept))
	}
	for _, k := range s.Keys {
		fmt.Fprintf(b, "    %s against %s\n         %s\n", printable(k.Port), printable(k.Microphone), measured(k.Kept))
	}
}

// measured is a delay in ms to a tenth, how closely it was measured, and when.
func measured(k delay.Kept) string {
	return fmt.Sprintf("%.1f ms, within %.1f ms, measured %s", msPerSecond*k.Seconds, msPerSecond*k.Spread, k.Measured.Format("2 January 2006"))
}

func channels(n int) string {
	if n == 1 {
		return "1 channel"
	}
	return fmt.Sprintf("%d channels", n)
}

// rateList names the rates of a device: "44100, 48000 Hz", with the default where it is not the only one.
func rateList(d Device) string {
	switch {
	case len(d.Rates) == 0:
		return fmt.Sprintf("%g Hz by default (not free now: another program may hold it)", d.DefaultRate)
	case len(d.Rates) == 1 && d.Rates[0] == d.DefaultRate:
		return fmt.Sprintf("%g Hz", d.DefaultRate)
	}
	var names []string
	for _, rate := range d.Rates {
		names = append(names, fmt.Sprintf("%g", rate))
	}
	return fmt.Sprintf("%s Hz (%g)", strings.Join(names, ", "), d.DefaultRate)
}

// latency writes the two delays that a device suggests, in ms to a tenth.
func latency(d Device) string {
	low, high := fmt.Sprintf("%.1f", msPerSecond*d.LatencyLow), fmt.Sprintf("%.1f", msPerSecond*d.LatencyHigh)
	if low == high {
		return low + " ms"
	}
	return low + " to " + high + " ms"
}

// printable replaces what would upset a terminal: a device may name itself with any bytes.
func printable(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return unicode.ReplacementChar
	}, name)
}

func hasDefault(devices []Device) bool {
	for _, d := range devices {
		if d.Default {
			return true
		}
	}
	return false
}
