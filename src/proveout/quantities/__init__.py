"""Units, ids, canonical bytes and errors: what every other folder may lean on."""
