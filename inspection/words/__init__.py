"""The only speaker: reasons, refusals and verdicts turned into sentences from the catalogue."""
