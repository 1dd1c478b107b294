"""Published check values, shipped with the program and run through its public functions."""
