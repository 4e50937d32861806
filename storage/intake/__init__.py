"""Files in: values and all faults, by place."""
