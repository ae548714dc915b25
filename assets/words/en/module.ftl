# What the module decides, refuses and reports: learned values, gates, routines, codes.
