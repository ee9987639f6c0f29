package synth

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

const (
	chunkHead = 8 // bytes: name and size
	formName  = 4 // bytes: the name of a form or list
)

var errNoFont = errors.New("it is no SoundFont 2 file; give one that ends in .sf2 (packed ones, .sf3, cannot be played)")

// checkChunks walks the chunks of a SoundFont and makes sure that none says to be longer than what holds it, since the reader believes what
// they say. The layout is that of the SoundFont 2.04 specification: RIFF sfbk with the lists INFO, sdta and pdta.
func checkChunks(r io.ReadSeeker, size int64) error {
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return err
	}
	var head [chunkHead + formName]byte
	if _, err := io.ReadFull(r, head[:]); err != nil || string(head[:4]) != "RIFF" || string(head[chunkHead:]) != "sfbk" {
		return errNoFont
	}
	at := int64(len(head))
	for _, list := range []string{"INFO", "sdta", "pdta"} {
		if _, err := io.ReadFull(r, head[:]); err != nil {
			return errShort(list)
		}
		if string(head[:4]) != "LIST" || string(head[chunkHead:]) != list {
			return fmt.Errorf("%w (where %s should be there is %q %q)", errDamaged, list, head[:4], head[chunkHead:])
		}
		length := int64(binary.LittleEndian.Uint32(head[4:]))
		end := at + chunkHead + length
		if end > size || length < formName {
			return errShort(list)
		}
		if err := checkList(r, at+int64(len(head)), end); err != nil {
			return fmt.Errorf("%w (%s)", err, list)
		}
		at = end
	}
	return nil
}

func errShort(list string) error {
	return fmt.Errorf("%w (it ends within %s)", errDamaged, list)
}

// checkList walks the chunks of a list from at to end, and leaves the reader at its end.
func checkList(r io.ReadSeeker, at, end int64) error {
	var head [chunkHead]byte
	for at < end {
		if _, err := io.ReadFull(r, head[:]); err != nil {
			return errDamaged
		}
		at += chunkHead + int64(binary.LittleEndian.Uint32(head[4:]))
		if at > end {
			return errDamaged
		}
		if _, err := r.Seek(at, io.SeekStart); err != nil {
			return err
		}
	}
	return nil
}
