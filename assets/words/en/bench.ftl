# What happens at the car: what a hand could not do, what the driver tells, what tools read, limits of the model.
