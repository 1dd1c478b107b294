"""From the gauge to one point a test."""
