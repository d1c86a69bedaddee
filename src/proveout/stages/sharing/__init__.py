"""What the parts of a catalogue share: cutters in the changers, sections of bar."""
