# The window: hands, bay tools, shelf, service tester, faults, parts.

## The middle and the sheets

middle-engine = Engine
middle-traces = Traces
middle-wheel = Wheel
middle-cylinders = Cylinders
middle-key = key { $key }
middle-look = look at
middle-look-all = all
middle-look-cylinders = cylinders
middle-look-throttle = throttle
middle-look-wheel = wheel
sheet-put-away = Put away

## What is asked back

leave-lid = Take the lid off?
leave-lid-why = Under it stands what the parts really are. Whoever has looked has looked: the debrief says so, though you go back to a mark.
leave-lid-off = Take it off
leave-lid-on = Leave it on
leave-close = Close the window?
leave-close-why = The car was not handed over: what was done to it is lost, its logbook too.
leave-close-hand-over = Hand it over first…
leave-close-and-lose = Close it and lose the work
leave-close-stay = Stay here

## The logbook

logbook-title = Logbook
logbook-empty = nothing yet

## A look round

guide-time = Let time run: press Space, or choose a pace at the bottom right. At “slow” you can watch a piston move.
guide-load = Switch the compressor on: press C, or its switch to the left. It takes power, so the idle needs more air: see to the right which bar of “Idle air adds up” grows.
guide-learned = Press “Read learned values”, to the right. Each value stands on a ruler: its ends are the limits, the notch is the default, the dashed bar is what was learned since. Above stands whether the module may learn now, and if not, why.
guide-lid = Take the lid off: press V. Now the rulers also show, in ink, what the parts really are. In a job this stands in your logbook.
guide-wheel = Look at the wheel on the crank: press F4. Pencil is where the module believes its teeth are, ink is where they are.
guide-fork = Try two things at once: press F, and from here on there are two futures of the same car. Switch something on in the second, then press F3: the traces show both, and how far they differ.
guide-end = That was the look round. The first job is A1: press F6 and choose it. F7 shows a healthy car of the same model beside yours at any time.
guide-next = Next step
guide-stop = End the look round
guide-good = Good
guide-step = look round, { $at } of { $of }

## The first minute

first-title = Idlewright
first-what = An engine control module learns the parts it works with, and goes on using what it learned after a part was changed. Here you see what it believes, measure what the engine does, and find out where they differ.
first-lines = A dashed line, as by pencil, is what the module believes. A thin line is what was measured. A bold line, as by ink, is what is true: it is drawn only with the lid off.
first-workshop = In a real workshop
first-begin = Where to begin
first-look-round = Look round a healthy engine
first-job = The first job: idles high
first-all = All scenarios…
first-stay = Stay here
cautions-title = Before you touch this car
cautions-were-read = You have said that you read them.
cautions-read = I have read them and keep to them

## Which scenario

scenarios-title = Scenarios
scenarios-all = all
scenarios-easy = easy
scenarios-medium = medium
scenarios-hard = hard
scenarios-ends-this = Another scenario ends this attempt, and it is not kept: hand the car over first if you want to keep it.
scenarios-graded = { $level } · { $car } · graded
scenarios-ungraded = { $level } · { $car }
scenarios-this = this one
scenarios-from-file = or from a file
scenarios-path = path to a .toml
scenarios-open = Open

## Questions

ask-before = Before you do that
ask-expect = What do you expect?
ask-waits = It waits: { $act }
ask-put-away = Put away
ask-do-it = Do it without answering
ask-do-not = Do not do it
ask-a-number = a number
ask-say-it = Say it
ask-rises = It rises
ask-same = It stays the same
ask-falls = It falls
ask-cause = What is wrong?
ask-cause-counts = You may change your mind; the last that was said before a repair counts.

## The debrief

debrief-title = Debrief
debrief-folder = into the folder
debrief-save = Save debrief
debrief-save-logbook = Save logbook
debrief-save-traces = Save traces
debrief-points = { $points } of { $of } points
debrief-closed = job closed
debrief-not-closed = job not closed
debrief-lid-off = worked with the lid off
debrief-again = Work on it again
debrief-another = Another scenario…
debrief-look = Look at the car as it stands
debrief-no-lesson = This scenario is no lesson: nothing is graded.
debrief-job = Job card
debrief-job-work = work
debrief-job-minutes = min
debrief-job-sum = { $minutes } min, { $money } { $currency }
debrief-needed = needed to close the job
debrief-predicted = Predicted, and what came
debrief-no-question = no question came up
debrief-said = { $at }  said: { $said }
debrief-said-nothing = { $at }  said: nothing
debrief-came = came: { $came }
debrief-came-unseen = came: not seen before the end
debrief-right = as predicted
debrief-wrong = not as predicted
debrief-causes = Named as the cause
debrief-good-parts = Good parts replaced: { $parts }
debrief-back-and-lid = gone back { $back ->
        [one] once
       *[other] { $back } times
    }, lid opened { $lid ->
        [one] once
       *[other] { $lid } times
    }
