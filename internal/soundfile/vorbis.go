package soundfile

func readVorbis(in input) (*recording, error) { return nil, faultf("cannot be read yet" + convertAdvice) }
