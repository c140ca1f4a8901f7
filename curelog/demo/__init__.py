"""An invented workshop, built from nothing by a story and a seed. Moments are relative to now."""
