"""One module a question that is asked of a scenario."""
