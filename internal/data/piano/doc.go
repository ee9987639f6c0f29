// Package piano reads a public set of real piano performances: one monophonic piece of 67 notes, played by 35 trained
// pianists, with real errors (Tominaga, Knoblich and Sebanz 2022, Scientific Reports 12, 21296, experiment 1).
//
// The folder holds ideal.txt (the intended keys, one a line), index.csv (one performance a line) and mid/ID.mid.
//
// Non-goals: it reads no other set, and it judges nothing.
package piano
