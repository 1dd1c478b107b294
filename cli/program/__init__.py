"""From a laboratory shear test to a margin of safety, with its uncertainty."""
