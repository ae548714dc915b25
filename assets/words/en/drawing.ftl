# The engine in three dimensions, and the window that holds it.

# Labels beside the engine.
drawing-air = air
drawing-air-worked-out = air, worked out
drawing-throttle = throttle
drawing-manifold = manifold
drawing-lambda = lambda
drawing-lambda-bank = lambda, bank { $bank }
drawing-lambda-cold = cold
drawing-speed = speed
drawing-coolant = coolant
drawing-supply = supply
drawing-tooth = tooth at the sensor
drawing-tooth-gap = gap
drawing-deposit = deposit

# What the pointer points at.
drawn-flexplate = Flexplate
drawn-crank-sensor = Crank sensor
drawn-pulley = Pulley
drawn-alternator = Alternator
drawn-intake = Intake
drawn-throttle-body = Throttle body
drawn-air-meter = Air meter
drawn-air-filter = Air filter
drawn-sensor-map = Manifold pressure sensor
drawn-oxygen-sensor = Oxygen sensor { $n }
drawn-rings = Rings { $n }
drawn-valves = Valves { $n }
drawn-plug = Plug { $n }
drawn-coil = Coil { $n }
drawn-injector = Injector { $n }
drawn-exhaust = Exhaust { $n }
drawn-battery = Battery

drawing-spoken = Engine; arrows turn it
drawing-not-yet = It can be written once the car is handed over
drawing-written = Written: { $file }
drawing-not-written = { $file } could not be written: { $why }

# What is said on the command line.
drawing-no-display = no display was found (neither DISPLAY nor WAYLAND_DISPLAY is set)
drawing-display-silent = the display does not answer
drawing-no-driver = no graphics driver with Vulkan or OpenGL was found
drawing-ended = the window ended with code { $code }
drawing-unknown = nothing more is known
drawing-unknown-card = an unknown card
drawing-frames = { $wide } x { $high } by { $card }: { $per_s } frames/s, { $mean } ms each, one in a hundred over { $slow } ms
