"""The screens: they show findings and collect answers, nothing else. Only this package imports Textual."""
