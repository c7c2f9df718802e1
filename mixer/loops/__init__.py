"""What is known of a loop: its card and the catalog."""
