"""Pure functions on sound: loudness, true peak, limiter, stretch, fades, dither, files."""
