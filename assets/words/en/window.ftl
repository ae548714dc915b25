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
window-gate-open = met: { $why }
window-gate-shut = not met: { $why }
window-met = passed: { $says }
window-not-met = not passed: { $says }
window-asks-for = total
window-sum = { $terms }; total { $whole }
window-not-read-yet = not read yet

## The job card.

job-car = { $car }, { $odometer }
job-complaint = “{ $complaint }” { $car }
job-complaint-of-trainee = “{ $complaint }” { $car } · { $trainee }
job-title = { $title }
job-spent = { $currency }
job-minutes = minutes
job-cautions-read = cautions read
job-cautions = Cautions…
job-name-another-cause = Name another cause…
job-say-what-is-wrong = Name the cause…
job-questions-open = { $n ->
    [one] { $n } question open…
   *[other] { $n } questions open…
}
job-hand-over = Hand over the car…
job-show-debrief = Show debrief
job-healthy = Healthy car…
job-scenarios = Scenarios…
job-keys = Keys
job-words = Glossary
job-settings = Settings…
job-slip = Apply a fault…
job-lamp-off = MIL off
job-lamp-bulb-check = MIL on: bulb check
job-lamp-on = MIL on
job-lamp-flashes = MIL flashing: reduce load
job-lamp-charge = Charging lamp on
job-lamp-hot = Coolant temperature lamp on
job-lid-off = true values shown
job-lid-on = true values hidden
job-lid-locked = true values locked
job-lid-why-locked = This scenario keeps true values hidden.
job-lid-why-off = True values are shown in bold. Press to hide them.
job-lid-why-on = Press to show true values in bold. The logbook records it.
job-hand-over-title = Hand over the car?
job-hand-over-says = The job card shows { $minutes } minutes and { $money } { $currency }. The attempt ends here; the debrief follows.
job-lines = Job card, line by line
job-line-work = work
job-line-min = min
job-no-cause-yet = You have not named the cause.
job-hand-over-now = Hand over the car
job-go-on = Continue working

## Time.

time-pace-paused = pause
time-pace-slow = slow
time-pace-times = ×{ $times }
time-pace-flat = maximum
time-pace-spoken = pace { $pace }
time-reaches = reaches ×{ $reached } of ×{ $wanted }
time-runs-at = runs at ×{ $reached }
time-mark-unnamed = bookmark
time-earlier-life = Simulating the car's history
time-earlier-life-once = This happens only once; the result is stored.
time-days = { $days } d
time-days-and = { $days } d { $clock }
time-mark-spoken = { $mark } at { $time }
time-mark-press = { $mark } at { $time }. Press to select it, then go back.
time-forked = split
time-since-came-in = since received
time-one-tooth = One tooth
time-one-cycle = One cycle
time-drive-on = Drive or wait…
time-logbook = Logbook…
time-stop-here = Stop here
time-fork = Split the run here…
time-two-futures = Two runs since { $time }; act on
time-reach-both = both
time-reach-first = 1
time-reach-second = 2
time-join = Keep the first run only
time-mark-name = bookmark name
time-set-mark = Set bookmark
time-to-a-mark = bookmark…
time-go-back = go back
time-go-back-undone = Go back, undo { $time }
time-drive-title = Drive, park or wait
time-drive-says = A driver takes the car out and brings it back: stationary, in neutral, engine idling.
time-for = for
time-min-suffix = { " " }min
time-as-fast = of simulated time, as fast as possible
time-drive = Drive
time-stand = Leave the car as it is for this time
time-drive-needs = Driving needs a running engine and a stationary car. You can stop at any time.
time-months = Hours and months
time-leave-for = lock and park it for
time-hours-suffix = { " " }h
time-leave = Park the car
time-daily-for = drive it daily, with the pattern chosen above, for
time-days-suffix = { " " }days
time-trips-suffix = { " " }trips a day
time-min-each-suffix = { " " }min each
time-days-a-week-suffix = { " " }days a week
time-daily = Drive it daily
time-daily-says = Parking and daily driving need the key off. One day in fourteen is simulated in full; in between, battery, wear and deposits are carried forward.

## The module's mind.

mind-ask = Scan tool…
mind-codes = Codes
mind-read-codes = Read codes
mind-believes = Learned values
mind-believes-chart = learned values
mind-read-learned = Read learned values
mind-trims = Fuel trims
gap-title = Throttle gap, magnified
gap-clean = gap of a clean throttle body at this plate angle: { $gap }
gap-learned = from its learned idle air the module infers that the gap is { $film } narrower
gap-learned-too-much = from its learned idle air the module infers that the gap is { $film } wider
gap-truth = true deposit on the bore { $film }, true gap { $open }
gap-scale = { $um } µm
mind-readiness = Readiness
mind-read-readiness = Read readiness
mind-read-again = Read again
mind-read-at = read at { $time }, { $ago } ago
mind-silent = The module does not answer: no live values.
mind-monitor-has-run = { $monitor }: complete
mind-monitor-has-not-run = { $monitor }: not complete
mind-more-at-default = { $n ->
    [one] { $n } more at its default
   *[other] { $n } more at their default
}
mind-all-at-default = { $n ->
    [one] { $n } at its default
   *[other] all { $n } at their default
}
mind-no-power = no data: module without power
mind-ruler = { $name }: stored { $stored }, default { $default }, limits { $low } to { $high }; last written: { $written }
mind-ruler-and-parts = { $name }: stored { $stored }, default { $default }, limits { $low } to { $high }, true { $parts }; last written: { $written }
mind-may-learn = Can the module learn now?
mind-find-out = Hidden in this scenario: find out for yourself.
mind-gates-open = { $names }: can learn
mind-gates-shut = { $n ->
    [one] { $names }: { $n } condition not met
   *[other] { $names }: { $n } conditions not met
}
mind-value-gates-open = { $name } { $value }: can learn
mind-value-gates-shut = { $n ->
    [one] { $name } { $value }: { $n } condition not met
   *[other] { $name } { $value }: { $n } conditions not met
}
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
mind-no-freeze-frame = no freeze frame stored with this code
mind-freeze-frame-head = freeze frame
mind-load = load
mind-idle-air = Idle air
mind-idle-air-chart = idle air
mind-idle-air-not = idle control not active
mind-idle-air-base = base
mind-idle-air-loads = loads
mind-idle-air-learned = learned
mind-idle-air-pi = idle correction
mind-idle-air-corrections = learned and idle correction
mind-fuel = Fuel
mind-fuel-chart = fuel
mind-fuel-not = no fuel requested
mind-fuel-by-air = from air flow
mind-fuel-target = target
mind-fuel-long = long-term
mind-fuel-short = short-term
mind-fuel-after-start = after start
mind-charging = Charging voltage
mind-charging-chart = charging voltage
mind-charging-not = alternator off
mind-charging-base = base by type
mind-charging-cold = temperature
mind-charging-age = age
mind-charging-stage = stage
mind-battery = battery: { $current }, { $temperature } (sensor), { $charge } % charged (counted)
mind-stop-allowed = stop-start: allowed
mind-stop-refused = stop-start: not allowed
mind-stop-refused-why = stop-start: not allowed, { $why }
mind-term = part
mind-asked-for = requested
mind-bank = bank { $bank }
mind-trim-short = short-term
mind-trim-idle = long-term, idle
mind-trim-part = long-term, part load
mind-trim-high = long-term, high flow

## The wheel view.

wheel-title = Reluctor wheel view
wheel-chart = reluctor wheel view
wheel-rings = tooth position error, 0.05° per ring, outwards is late
wheel-learned = learned
wheel-measured = measured
wheel-true = true
wheel-degrees = { $deg }°
wheel-head-degrees = { $who } °
wheel-tooth-n = tooth { $n }
wheel-offset = { $who } { $deg }°
wheel-most = { $who }: largest { $deg }° at tooth { $n }
wheel-spoken = reluctor wheel view; its values are in the table beside it
wheel-spoken-and-one = reluctor wheel view; { $one }; its values are in the table beside it
wheel-spoken-and-two = reluctor wheel view; { $one }; { $two }; its values are in the table beside it
wheel-spoken-and-three = reluctor wheel view; { $one }; { $two }; { $three }; its values are in the table beside it
wheel-tooth = tooth
wheel-two-cylinders = { $one } and { $other }
wheel-table = crankshaft variation stored in the module
wheel-read = Read crankshaft variation
wheel-no-table = Nothing stored: this module has not learned crankshaft variation.
wheel-by-scope = measured by the scope on the crankshaft sensor
wheel-not-measured = not measured yet; the engine must be turning
wheel-put-scope = Connect the scope
wheel-beyond = The line goes beyond the rings.
wheel-beat-out = The firing frequency is filtered out, and with it wheel errors of the same frequency. Other speed variation of the engine remains and falls with rising speed: measure at a steady 3000 rpm or more.
wheel-measure-again = Measure again
wheel-as-it-is = true tooth positions
wheel-by-sectors = By sectors
wheel-sectors-say = TDC to TDC: difference of each sector from the mean
wheel-sector-of = cylinder
wheel-off = largest difference { $deg }°
wheel-misfires-watched = Misfire monitor active.
wheel-misfires-not-watched = Misfire monitor not active.
wheel-lid-on = True tooth positions are hidden.
wheel-tooth-by-tooth = Each tooth

## The cylinder strip.

strip-title = Cylinder strip
strip-shows-counts = misfires
strip-shows-trims = trims
strip-shows-lambda = true lambda
strip-shows-work = true mean effective pressure
strip-off = cylinder { $cylinder }: { $pct } %
strip-pct = { $pct } %
strip-chart = cylinder strip
strip-counted-watched = counted on this trip; misfire monitor active
strip-counted-not-watched = counted on this trip; misfire monitor not active
strip-share = { $pct } % of all firings in the last 200 revolutions
strip-cylinder-counted = cylinder { $cylinder }: { $n } counted
strip-spoken = { $cylinders }; a full bar is { $full }
strip-true = true { $n }
strip-trim = trim { $pct } %
strip-cylinder = cylinder { $cylinder }
strip-head-counted = counted
strip-head-trim = trim
strip-head-true = true
strip-head-lambda = lambda
strip-head-work = mean effective pressure, kPa
strip-trims-later = Trims are shown after learned values have been read.
strip-same-teeth = Cylinders one revolution apart use the same teeth: counts on both may come from the reluctor wheel.

## Traces.

readings-second-future = { $signal }, second run
readings-two-futures = { " " }two runs
readings-chart-title = { $signals }, { $unit }
readings-strip-chart = strip: { $signals }
readings-picture-chart = chart { $n }: { $signals }
readings-head-time = s since car received
readings-head = { $signal } { $unit }
readings-head-second = { $signal }, second run { $unit }
readings-seconds = { $s } s
readings-choose = signals
readings-of-idle = Idle
readings-of-air = Air
readings-of-fuel = Fuel
readings-of-charging = Charging
readings-of-heat = Temperatures
readings-of-car = Car
readings-group-chosen = { $group } ({ $n })
readings-none-chosen = no trace selected
readings-10-s = 10 s
readings-1-min = 1 min
readings-5-min = 5 min
readings-30-min = 30 min
readings-all = all
readings-follow = follow the newest
readings-earlier = earlier
readings-later = later
readings-cursor = cursor
readings-cursor-click = Clicking on a trace sets the cursor too
readings-let-go = Remove cursor
readings-at-pointer = at the pointer, or now
readings-at = at { $time }
readings-second = second
readings-by = difference

## Charts to keep.

charts-save = Save…
charts-save-what = { $what }: picture and values
charts-save-spoken = save { $what }…
charts-means = dashed: module's value · thin: measured
charts-means-with-truth = dashed: module's value · thin: measured · bold: true
charts-keep = Save: { $chart }
charts-into-folder = folder
charts-save-picture = Save picture (SVG)
charts-save-numbers = Save values (CSV)
charts-save-window = Save whole window (PNG)
charts-sheet-goes-first = This dialog closes first, so that it is not in the picture.
charts-some-rows = { $shown } of { $all } rows; the file has all of them
charts-written = Saved: { $file }
charts-not-written = { $file } could not be saved: { $why }

## A healthy car beside this one.

beside-title = Healthy car for comparison
beside-wait = Starting and warming up a healthy car of this model…
beside-says = The same model with other parts: warm, idling, all loads off.
beside-this-car = this car
beside-healthy = healthy

## The glossary's sheet.

words-title = Glossary
words-a-word = search
words-also = also: { $words }
words-see = see
words-none = not in the glossary

## The list of keys.

keys-title = Keyboard
keys-first-minute = Show the start page again…
keys-tab = next button; Space or Enter presses it
keys-space = run or pause (if no button has the focus)
keys-paces = slow, ×1, ×10, ×100, maximum
keys-tooth = one tooth
keys-cycle = one engine cycle
keys-drive-on = drive, park or wait…
keys-key = key off, on, start
keys-pedal = pedal 5 % more or less
keys-pedal-off = release the pedal
keys-gear = park, neutral, drive
keys-brake = brake
keys-loads = A/C compressor, heated rear window, headlamps, steering, cabin blower
keys-battery = battery terminal
keys-ask = scan tool…
keys-cause = name the cause…
keys-lid = show or hide true values
keys-mark = set a bookmark here
keys-back = select the last bookmark; again: go back to it
keys-fork = split into two runs
keys-join = keep the first run only
keys-words = glossary; with a word selected: its entry
keys-middles = engine, traces, reluctor wheel, cylinders
keys-scenarios = scenarios…
keys-healthy = healthy car for comparison…
keys-logbook = logbook…
keys-hand-over = hand over the car…
keys-settings = settings…
keys-present = presentation: large figures for the back of the room
keys-list = this list
keys-turn = turn the engine view (engine has the focus); Page Up and Page Down: zoom
keys-escape = close the dialog; remove the focus

## Settings.

settings-title = Settings
settings-light = Theme
settings-board = Light (drawing board)
settings-night = Dark (night bay)
settings-size = Size
settings-projector = Projector: 50 % larger, with controls and module in one column
settings-units = Units
settings-metric = Metric: kPa, °C, km/h, g/s
settings-us = US: inHg and psi, °F, mph, lb/min
settings-files-stay-metric = Messages of the module and files stay metric.
settings-language = Language
settings-add-language = To add a language, put its message file (for example de.ftl) into { $folder }.
settings-language-unread = { $tag } cannot be read: { $why }
settings-motion = Motion
settings-reduced = Reduced: no unnecessary movement
settings-sound = Sound
settings-sound-on = Play the exhaust at real speed
settings-volume = Volume (%)
settings-sound-first-low = Set a low volume first, above all with headphones.
settings-sound-fails = No sound can be played: { $why }. Everything else works without it.
settings-sound-none = no sound device was found
settings-kept-in = Stored in { $path }
settings-no-folder = no folder for settings found
settings-not-kept = the settings could not be stored in { $folder }: { $why }
