"""Shared painting: zone strip, balloon, ribbon."""
