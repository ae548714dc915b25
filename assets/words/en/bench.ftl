# What happens at the car: what a hand could not do, what the driver tells, what tools read, limits of the model.

## What came of an act that was not simply done.

told-hindered = Cannot be done: { $because }
told-refused = The module refused: { $because }
told-silent = The module does not answer: asleep or without power
told-no-mark = there is no such mark

## Why there is nothing to survey.

no-survey-not-started = the engine did not start
no-survey-no-end = the routine did not come to an end
no-survey-not-held = nothing could be held at { $rpm } rpm
