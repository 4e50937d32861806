"""The one thread: the door, long reads, progress and stopping."""
