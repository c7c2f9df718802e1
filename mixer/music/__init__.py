"""Pure musical arithmetic: meter, keys, scales."""
