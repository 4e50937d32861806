"""Features, requirements, callouts and the limits they leave."""
