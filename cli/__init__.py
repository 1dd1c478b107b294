"""The program a person meets: scenario files in, text, JSON and pictures out."""
