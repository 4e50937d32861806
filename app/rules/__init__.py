"""The shop's rules: every one as it is written, typed anew, and who changed what when."""
