"""Loops made for the demo, their catalog (`loops.yaml`), and the script that makes them (`make.py`)."""
