"""All that people read, in English. `sentences` gathers those of problems; most commands load only a file or two."""
