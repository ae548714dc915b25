# Names of what is declared in the catalogue: the kind and the id with hyphens, as part-throttle-body.
