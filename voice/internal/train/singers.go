package main

func singerExamples(takes int, seed uint64) []example { return nil }
