"""The paper, letters and labels that every picture shares."""
