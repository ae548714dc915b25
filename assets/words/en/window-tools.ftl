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
guide-end = That was the look round. The first job is “Idles high since the throttle was cleaned”: press F6 and choose it. F7 shows a healthy car of the same model beside yours at any time.
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

## Hands

hands-title = Hands
hands-reach = reach
hands-reach-both = both
hands-reach-first = first
hands-reach-second = second
hands-driver-drives = The driver has pedal and brake
hands-brake = Brake
hands-gear-title = Gear
hands-gear = gear { $gear }
hands-gear-key = { $gear } (key { $key })
hands-key-title = Key
hands-key = key { $place }
hands-pedal-title = Pedal
hands-pedal = pedal
hands-pedal-keys = + and − move it by 5 %, Backspace takes the foot off
hands-pedal-lift = lift
hands-pedal-lift-key = the foot off the pedal (Backspace)
hands-pedal-off = foot off the pedal

## What work costs

cost-minutes-and-money = { $minutes } min + { $money }
cost-minutes = { $minutes } min

## Bay tools and shelf

shelf-tools = Bay tools
shelf-title = Shelf
shelf-work = Other work
shelf-cylinder = cylinder
shelf-bank = bank
shelf-at = at
shelf-round = round
shelf-which = which
shelf-measure = Measure
shelf-showed = They showed
shelf-other-battery = another kind or size than the one in the car
shelf-serial = serial
shelf-serial-any = any
shelf-serial-why = Left empty, a new one is taken from the shelf. The same serial is bought once.
shelf-needs-stopped = needs the engine stopped
shelf-needs-key-off = needs key off
shelf-fit = Fit a new one ({ $price })
shelf-plugs = Plugs and hoses…
shelf-plugs-pulled = Plugs, { $pulled } pulled
shelf-each = { $cost } each

# What must hold before a tool is used
tool-needs-fuel-pressure = needs first time: engine stopped
tool-needs-smoke-test = needs engine stopped, key off
tool-needs-exhaust-smoke = needs engine stopped
tool-needs-gas-reading = needs engine turning
tool-needs-voltmeter = needs sensor pins: key on
tool-needs-hydrometer = needs flooded cells
tool-needs-scope = needs sensor pins: key on; two seconds
tool-needs-inspect = needs throttle: engine stopped, key off; filter: engine stopped
tool-needs-back-pressure = needs first time on a bank: engine stopped
tool-needs-compression = needs engine stopped, coils and injectors unplugged; then full pedal and crank

## Other work

shelf-do-it = Do it
shelf-sensor-and-wire = the sensor and its wire
shelf-swap-with = with
shelf-swap = Swap
shelf-fuel = so much
shelf-fill-in = Fill in
shelf-draws = draws
shelf-amps-always = A, always
shelf-to-the-posts = straight to the battery's posts
shelf-wire-it = Wire it
shelf-take-it-off = Take it off
shelf-swallows = swallows
shelf-of-its-sparks = % of its sparks
shelf-put-it-in = Put it in
shelf-take-it-out = Take it out
shelf-hold-at = at
shelf-rollers = rollers
shelf-hold-until = A driver holds it until a hand touches pedal, brake, gear or key.
shelf-hold = Hold
shelf-drive-on = Drive on…
shelf-drive-on-cost = the time it takes

# What to mind at work by hand, and what must hold before
hand-mind-clean-throttle-body = A powered throttle plate can close on a finger.
hand-needs-clean-throttle-body = needs engine stopped, key off
hand-mind-inlet-leak = hoses and gaskets behind the air meter
hand-mind-exhaust-leak = Exhaust and catalyst stay hot after the engine has stopped.

## Faults that are slipped in

slip-title = Slip in a fault
slip-logbook = It stands in the logbook like any other act, in words that tell no value under a closed lid.
slip-leak = Leak behind the air meter
slip-exhaust-leak = Leak in the exhaust
slip-sensor = A sensor and its wire
slip-make-it-so = Make it so
slip-part = A part
slip-part-serial = What is not said follows from its serial. The engine must be stopped.
slip-fit = Fit it
slip-battery-as-the-car = as the car's

## A part's card

card-of-several = { $part } { $k }
card-of-sensor = { $part } { $sensor }
card-lid-on = With the lid on, nothing more is known than what it shows.
card-serial = Serial { $serial }
card-is-good = as a good one is
card-not-told = What is true of it is not told here: set what it shows beside the true traces.
card-looked = Looked at { $at }: { $seen }
card-look = Look at it ({ $price })
card-clamp-off = Take the clamp off
card-clamp-on = Put the clamp on
card-belt-off = Take the belt off
card-belt-on = Put the belt on
card-pull-plug = Pull its plug
card-push-plug = Push its plug in
card-fit = Fit another…

# What a part does
about-throttle-body = A plate that lets air in, turned by a motor. Its own closed stop differs from one to the next, and a film grows behind the plate.
about-air-meter = Measures the air that goes in. What comes in behind it is not metered.
about-injector = Lets fuel into one cylinder. Each gives a little more or less than the next; on some cars its difference is printed on it as a code.
about-fuel-pump = Brings fuel from the tank to the rail.
about-regulator = Holds the pressure of the fuel in the rail.
about-fuel-filter = Keeps dirt out of the rail. A blocked one costs pressure.
about-air-filter = Keeps dust out. A blocked one costs power.
about-purge-valve = Lets vapour from the tank into the engine, when the module wants it.
about-thermostat = Keeps the coolant in the engine until it is warm.
about-exhaust = Pipe and catalyst of one bank.
about-sensor = Turns something that is into volts at a pin.
about-flexplate = Carries the reluctor wheel: fifty-eight teeth and a gap of two. No wheel runs quite true, and the module learns how far it is off.
about-crank-sensor = Sees the teeth go by.
about-coil = Makes the spark of one cylinder.
about-plug = Where the spark jumps. A wide gap needs more than a coil may give.
about-valves = Let gas in and out of one cylinder. Leaking ones lose compression.
about-rings = Keep the gas above the piston. Worn ones lose compression.
about-pulley = Drives the belt, and takes twisting swings out of the crank.
about-cam-drive = Turns the camshaft with the crank.
about-battery = Feeds everything. The module forgets some of what it learned when it is taken off.
about-alternator = Feeds the car while the engine turns, at the voltage that the module asks for.
about-module = Drives the engine and learns its parts. A new one is blank.

## Ask the module

asking-title = Ask the module
asking-runs = The routine is under way
asking-runs-says = The routine is under way: { $says }
asking-done = The routine ended well
asking-failed = The routine failed
asking-failed-says = The routine failed: { $says }
asking-stop = Stop it
asking-answered = It answered last
asking-nothing-yet = nothing yet
asking-read = Read
asking-frame = Freeze frame of { $code }
asking-write = Write
asking-clear-mind = Clears codes, freeze frame and readiness. On some cars more is lost with them.
asking-battery = Battery record
asking-battery-counts-on = it counts on: { $kind }, { $rated } Ah; { $passed } of { $of } Ah counted through it
asking-battery-enter = Enter { $kind }, { $rated } Ah
asking-battery-label = As its label says; no code tells that it was forgotten.
asking-injectors = Injector codes
asking-of-cylinder = of cylinder
asking-printed-on = printed on injector
asking-type-a-code = or type a code
asking-enter-printed = Enter the printed code
asking-enter-typed = Enter the typed code
asking-start = Start
asking-wheel-mind = High engine speed: parked, wheels blocked, bonnet closed, people clear; let go at once.
asking-cut-out = Cut cylinder { $cylinder } out
asking-idle-at = idle at
asking-idle = Ask for an idle of { $rpm } rpm
asking-own-idle = The module's own idle speed again
