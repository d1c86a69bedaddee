"""The nouns: frozen values, checked when built. One definition of each."""
