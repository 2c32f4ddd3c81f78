"""Tests: they mirror service/, and import each other from here."""
