# A class: what its pages say.

join-title = Join the class
