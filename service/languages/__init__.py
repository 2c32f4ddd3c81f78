"""The languages of pages and papers: English is the key, each other one has a catalogue."""
