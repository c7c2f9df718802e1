"""Text that people write: lines mended, values with their places."""
