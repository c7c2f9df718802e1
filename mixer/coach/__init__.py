"""What a song does and what could be tried with it: energy, sections in words, questions. People judge."""
