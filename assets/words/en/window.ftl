# The window: job card, time, module, traces, wheel, settings, sheets.

## What a language calls itself, in the list of languages.

language-name = English

## Several of a kind: one more behind those before it. Values in brackets behind a thing that can be pressed.

window-and-more = { $before }, { $more }
window-key = key { $key }
window-key-tab = Tab
window-key-space = Space
window-key-backspace = Backspace
window-key-escape = Esc
window-priced = { $what } ({ $price })
window-f1-for-more = F1 for more
window-named-value = { $name } { $value }
window-at = { $time }  { $what }
window-gate-open = open: { $why }
window-gate-shut = shut: { $why }
window-met = met: { $says }
window-not-met = not met: { $says }
window-asks-for = asks for
window-sum = { $terms }; asks for { $whole }
window-not-read-yet = not read yet

## The job card.

job-car = { $car }, { $odometer }
job-complaint = “{ $complaint }” { $car }
job-complaint-of-trainee = “{ $complaint }” { $car } · { $trainee }
job-title = { $title }
job-spent = { $currency } spent
job-minutes = minutes
job-cautions-read = cautions read
job-cautions = Cautions…
job-name-another-cause = Name another cause…
job-say-what-is-wrong = Say what is wrong…
job-questions-open = { $n ->
    [one] { $n } question open…
   *[other] { $n } questions open…
}
job-hand-over = Hand the car over…
job-show-debrief = Show the debrief
job-healthy = A healthy one…
job-scenarios = Scenarios…
job-keys = Keys
job-words = Words
job-settings = Settings…
job-slip = Slip in a fault…
job-lamp-off = engine lamp off
job-lamp-on = engine lamp on
job-lamp-flashes = engine lamp flashes: ease off
job-lid-off = lid off
job-lid-on = lid on
job-lid-locked = lid locked
job-lid-truth = { $lid }: truth
job-lid-why-locked = This scenario keeps its lid closed.
job-lid-why-off = Truth is shown in ink. Put the lid on.
job-lid-why-on = Take the lid off: truth is shown in ink. It stands in the logbook.
job-hand-over-title = Hand the car over?
job-hand-over-says = { $minutes } minutes and { $money } { $currency } stand on the job card. The attempt ends here; the debrief follows.
job-lines = Job card, line by line
job-line-work = work
job-line-min = min
job-no-cause-yet = You have not said what is wrong.
job-hand-over-now = Hand the car over
job-go-on = Go on working

## Time.

time-pace-paused = pause
time-pace-slow = slow
time-pace-times = ×{ $times }
time-pace-flat = flat out
time-pace-spoken = pace { $pace }
time-reaches = reaches ×{ $reached } of ×{ $wanted }
time-runs-at = runs at ×{ $reached }
time-mark-unnamed = mark
time-earlier-life = The car's earlier life is driven
time-earlier-life-once = Once; it is kept for the next time.
time-days = { $days } d
time-mark-spoken = mark { $mark } at { $time }
time-mark-press = { $mark } at { $time }. Press to choose it, then go back.
time-forked = forked
time-since-came-in = since the car came in
time-one-tooth = One tooth
time-one-cycle = One cycle
time-drive-on = Drive on…
time-logbook = Logbook…
time-stop-here = Stop here
time-fork = Fork here and do it differently…
time-two-futures = Two futures since { $time }; reach
time-reach-both = both
time-reach-first = 1
time-reach-second = 2
time-join = Go on with the first alone
time-mark-name = name of a mark
time-set-mark = Set a mark
time-to-a-mark = to a mark…
time-go-back = go back
time-go-back-undone = Go back, { $time } undone
time-drive-title = Drive on
time-drive-says = A driver takes pedal, brake, gear and key, and ends standing, in neutral, idling.
time-for = for
time-min-suffix = { " " }min
time-as-fast = of the car's time, as fast as it goes
time-drive = Drive
time-stand = Let it stand as it is for so long
time-drive-needs = Driving needs a running engine and a standing car. It can be stopped at any moment.
time-months = Hours and months
time-leave-for = lock it and leave it for
time-hours-suffix = { " " }h
time-leave = Leave the car
time-daily-for = drive it every day, by the road chosen above, for
time-days-suffix = { " " }days
time-trips-suffix = { " " }trips a day
time-min-each-suffix = { " " }min each
time-days-a-week-suffix = { " " }days a week
time-daily = Drive on from day to day
time-daily-says = Both need the key off. One day in fourteen is driven in full; between them the battery lives on and wear is carried on.

## The module's mind.

mind-ask = Ask the module…
mind-codes = Codes
mind-read-codes = Read codes
mind-believes = What the module believes
mind-believes-chart = what the module believes
mind-read-learned = Read learned values
mind-trims = Fuel trims
mind-readiness = Readiness
mind-read-readiness = Read readiness
mind-monitor-has-run = { $monitor }: has run
mind-monitor-has-not-run = { $monitor }: has not run yet
mind-more-at-default = { $n ->
    [one] { $n } more at its default
   *[other] { $n } more at their default
}
mind-all-at-default = { $n ->
    [one] { $n } at its default
   *[other] all { $n } at their default
}
mind-no-power = nothing: it has no power
mind-ruler = { $name }: stored { $stored }, default { $default }, limits { $low } to { $high }; last written: { $written }
mind-ruler-and-parts = { $name }: stored { $stored }, default { $default }, limits { $low } to { $high }, the parts { $parts }; last written: { $written }
mind-may-learn = May it learn now?
mind-find-out = This scenario leaves it to you to find out.
mind-gates-open = { $names }: may learn
mind-gates-shut = { $names }: { $n } shut
mind-value-gates-open = { $name } { $value }: may learn
mind-value-gates-shut = { $name } { $value }: { $n } shut
mind-head-value = value
mind-head-stored = stored
mind-head-default = default
mind-head-low = low
mind-head-high = high
mind-head-written = last written
mind-head-true = true
mind-as-table = As a table
mind-no-code = no code stored
mind-freeze-frame = Freeze frame ({ $price })
mind-freeze-frame-of = Freeze frame of { $code } ({ $price })
mind-no-freeze-frame = no freeze frame stored with it
mind-freeze-frame-head = freeze frame
mind-load = load
mind-idle-air = Idle air adds up
mind-idle-air-chart = idle air adds up
mind-idle-air-not = idle control is not in force
mind-idle-air-base = base
mind-idle-air-loads = loads
mind-idle-air-learned = learned
mind-idle-air-pi = PI
mind-fuel = Fuel adds up
mind-fuel-chart = fuel adds up
mind-fuel-not = no fuel is asked for
mind-fuel-by-air = by the air
mind-fuel-target = target
mind-fuel-long = long-term
mind-fuel-short = short-term
mind-fuel-after-start = after start
mind-charging = Charging adds up
mind-charging-chart = charging adds up
mind-charging-not = nothing is asked of the alternator
mind-charging-base = base by kind
mind-charging-cold = temperature
mind-charging-age = age by record
mind-charging-stage = stage
mind-battery = battery by the sensor { $current }, { $temperature }; by count { $charge } % charged
mind-stop-allowed = stopping at lights is allowed
mind-stop-refused = stopping at lights is refused
mind-stop-refused-why = stopping at lights is refused: { $why }
mind-term = term
mind-asked-for = asked for
mind-bank = bank { $bank }
mind-trim-short = short-term
mind-trim-idle = long-term, idle
mind-trim-part = long-term, part load
mind-trim-high = long-term, high flow

## The wheel view.

wheel-title = Wheel view
wheel-chart = wheel view
wheel-rings = tooth timing round the wheel, 0.05° a ring, outwards is late
wheel-learned = learned
wheel-measured = measured
wheel-true = true
wheel-degrees = { $deg }°
wheel-head-degrees = { $who } °
wheel-tooth-n = tooth { $n }
wheel-offset = { $who } { $deg }°
wheel-most = { $who }: most { $deg }° at tooth { $n }
wheel-spoken = wheel view; its numbers stand beside it
wheel-spoken-and-one = wheel view; { $one }; its numbers stand beside it
wheel-spoken-and-two = wheel view; { $one }; { $two }; its numbers stand beside it
wheel-spoken-and-three = wheel view; { $one }; { $two }; { $three }; its numbers stand beside it
wheel-tooth = tooth
wheel-two-cylinders = { $one } and { $other }
wheel-table = wheel table: what the module believes
wheel-read = Read the wheel table
wheel-no-table = No table is stored: this module has not learned its wheel.
wheel-by-scope = measured by the scope on the crank sensor
wheel-not-measured = not measured yet; needs a turning engine
wheel-put-scope = Put the scope on it
wheel-beyond = It runs beyond the rings.
wheel-beat-out = The beat of firing is taken out, with the wheel's own waves as short. What else the engine does to its speed is left in, and falls as the speed rises: measure at a steady 3000 rpm or more.
wheel-measure-again = Measure again
wheel-as-it-is = the wheel as it is
wheel-by-sectors = By sectors
wheel-sectors-say = from top to top: how much longer than even each is
wheel-sector-of = sector of
wheel-off = largest difference { $deg }°
wheel-misfires-watched = Misfires are watched for.
wheel-misfires-not-watched = Misfires are not watched for now.
wheel-lid-on = With the lid on the wheel itself is not drawn.
wheel-tooth-by-tooth = Tooth by tooth

## The cylinder strip.

strip-title = Cylinder strip
strip-chart = cylinder strip
strip-counted-watched = counted in this trip; misfires are watched for
strip-counted-not-watched = counted in this trip; misfires are not watched for now
strip-share = { $pct } % of all firings in the last 200 turns
strip-cylinder-counted = cylinder { $cylinder }: { $n } counted
strip-spoken = { $cylinders }; a full bar is { $full }
strip-true = true { $n }
strip-trim = trim { $pct } %
strip-cylinder = cylinder { $cylinder }
strip-head-counted = counted
strip-head-trim = trim
strip-head-true = true
strip-head-lambda = lambda
strip-head-work = work kPa
strip-trims-later = Trims are shown once learned values were read.
strip-same-teeth = Cylinders a whole turn apart pass the same teeth: counts in two of them may be the wheel.

## Traces.

readings-second-future = { $signal }, second future
readings-two-futures = { " " }two futures
readings-chart-title = { $signals }, { $unit }
readings-strip-chart = strip: { $signals }
readings-picture-chart = picture { $n }: { $signals }
readings-head-time = s since hand-over
readings-head = { $signal } { $unit }
readings-head-second = { $signal }, second future { $unit }
readings-seconds = { $s } s
readings-none-chosen = no trace is chosen
readings-10-s = 10 s
readings-1-min = 1 min
readings-5-min = 5 min
readings-30-min = 30 min
readings-all = all
readings-follow = keep the newest in sight
readings-earlier = earlier
readings-later = later
readings-cursor = cursor
readings-cursor-click = A click into a trace puts it down too
readings-let-go = Let it go
readings-at-pointer = at the pointer, or now
readings-at = at { $time }
readings-first = first
readings-second = second
readings-by = by
readings-is = is
readings-nothing-yet = nothing was recorded yet

## Charts to keep.

charts-save = Save…
charts-save-what = { $what }: picture and numbers
charts-save-spoken = save { $what }…
charts-means = dashed: what the module believes · thin: measured
charts-means-with-truth = dashed: what the module believes · thin: measured · bold: true
charts-keep = Keep: { $chart }
charts-into-folder = into the folder
charts-save-picture = Save the picture (SVG)
charts-save-numbers = Save the numbers (CSV)
charts-save-window = Save the whole window (PNG)
charts-sheet-goes-first = This sheet goes first, so that it is not in the picture.
charts-some-rows = { $shown } of { $all } rows; the file has all
charts-written = Written: { $file }
charts-not-written = { $file } could not be written: { $why }

## A healthy car beside this one.

beside-title = A healthy one beside it
beside-wait = A healthy car of this model is started and warmed…
beside-says = The same model with other parts, warm, at idle, nothing switched on.
beside-this-car = this car
beside-healthy = healthy

## The glossary's sheet.

words-title = Words
words-a-word = a word
words-also = also { $words }
words-see = see
words-none = no such word here

## The list of keys.

keys-title = Keys
keys-first-minute = The first minute again…
keys-tab = to the next thing that can be pressed; Space or Enter presses it
keys-space = time runs, or stands (while nothing has the focus)
keys-paces = slow, ×1, ×10, ×100, flat out
keys-tooth = one tooth
keys-cycle = one working cycle
keys-drive-on = drive on…
keys-key = key off, on, start
keys-pedal = pedal down or up by 5 %
keys-pedal-off = foot off the pedal
keys-gear = park, neutral, drive
keys-brake = brake
keys-loads = compressor, heated glass, lamps, steering, cabin blower
keys-battery = battery clamp
keys-ask = ask the module…
keys-cause = say what is wrong…
keys-lid = lid off or on
keys-mark = set a mark here
keys-back = choose the last mark; again: go back to it
keys-fork = fork into two futures
keys-join = go on with the first alone
keys-words = words; at a word that is explained: that one
keys-middles = engine, traces, wheel, cylinders
keys-scenarios = scenarios…
keys-healthy = a healthy car beside this one…
keys-logbook = logbook…
keys-hand-over = hand the car over…
keys-settings = settings…
keys-list = this list
keys-turn = turn the engine, while it has the focus; Page up and Page down: nearer, further
keys-escape = puts away what stands in front; lets go of what has the focus

## Settings.

settings-title = Settings
settings-light = Light
settings-board = Drawing board (light)
settings-night = Night bay (dark)
settings-size = Size
settings-projector = Projector: everything half as large again
settings-units = Units
settings-metric = Metric: kPa, °C, km/h, g/s
settings-us = US: inHg and psi, °F, mph, lb/min
settings-files-stay-metric = What the module says in its own sentences stays metric, as do files.
settings-language = Language
settings-add-language = Another language is offered once its file of messages (de.ftl, say) lies in { $folder }.
settings-language-unread = { $tag } does not read: { $why }
settings-language-gone = its files are gone
settings-language-too-large = { $file } is larger than 1 MiB
settings-language-no-tag = that is no language's tag
settings-language-syntax = { $file }, line { $line }: { $what }
settings-language-twice = { $file }, line { $line }, has a message for the second time: { $what }
settings-motion = Motion
settings-reduced = Reduced: nothing moves that need not
settings-kept-in = Kept in { $path }
settings-no-folder = there is no folder for settings
settings-not-kept = the settings could not be kept in { $folder }: { $why }
