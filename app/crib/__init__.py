"""The crib room: find an instrument, see and change its record, lend it, take it out of service, take files in."""
