"""What a shop owns, as validated data: machine and extraction profiles, job and belt cards, the folder."""
