package practice

import (
	"bufio"
	"bytes"
	"fmt"
	"os"
	"strconv"
	"strings"

	"larkhand/midiin"
)

// eventLog is a text file of MIDI messages, one a line as it comes: seconds since the answer's zero, then the bytes in hexadecimal.
type eventLog struct {
	f   *os.File
	err error
}

func createLog(path string) *eventLog {
	l := &eventLog{}
	l.f, l.err = os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL|os.O_APPEND, 0o644)
	return l
}

// add writes a message through to the system, so that it outlives the program.
func (l *eventLog) add(e midiin.Event) {
	if l.err != nil {
		return
	}
	_, l.err = fmt.Fprintf(l.f, "%.6f %s\n", e.Time, hexBytes(e))
}

// sync sees to it that it outlives the machine's power too.
func (l *eventLog) sync() {
	if l.err == nil {
		l.err = l.f.Sync()
	}
}

func (l *eventLog) close() error {
	l.sync()
	if l.f != nil {
		if err := l.f.Close(); l.err == nil {
			l.err = err
		}
	}
	return l.err
}

func hexBytes(e midiin.Event) string {
	return fmt.Sprintf("% x", e.Append(nil))
}

// maxLogBytes of a log are read: an hour on a full MIDI cable.
const maxLogBytes = 64 << 20

// readLog reads what a log holds, up to the first line that is not whole: writing may have been cut short there.
func readLog(path string) ([]midiin.Event, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if info.Size() > maxLogBytes {
		return nil, fmt.Errorf("%s is larger than any answer", path)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	return parseLog(data), nil
}

func parseLog(data []byte) (events []midiin.Event) {
	whole := data[:bytes.LastIndexByte(data, '\n')+1]
	lines := bufio.NewScanner(bytes.NewReader(whole))
	for lines.Scan() {
		e, ok := parseLine(lines.Text())
		if !ok {
			return events
		}
		events = append(events, e)
	}
	return events
}

func parseLine(line string) (e midiin.Event, ok bool) {
	fields := strings.Fields(line)
	if len(fields) < 3 || len(fields) > 4 {
		return e, false
	}
	t, err := strconv.ParseFloat(fields[0], 64)
	if err != nil || !(t >= 0 && t < 1e6) {
		return e, false
	}
	e.Time = t
	for i, to := range []*byte{&e.Status, &e.Data1, &e.Data2}[:len(fields)-1] {
		b, err := strconv.ParseUint(fields[i+1], 16, 8)
		if err != nil || (i == 0) != (b >= 0x80) {
			return e, false
		}
		*to = byte(b)
	}
	return e, e.Status < 0xF0 && len(e.Append(nil)) == len(fields)-1
}
