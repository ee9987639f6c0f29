// Package solos reads a public set of real improvised jazz solos as note lists (Weimar Jazz Database 1.2), and cuts them
// into phrases.
//
// The folder holds one file a solo, solo-NNN.csv, with the columns pitch, onset_s and duration_s.
//
// Non-goals: it knows no chords, beats or velocities, which the lists do not have.
package solos
