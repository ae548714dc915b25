# The engine in three dimensions, and the window that holds it.

# Labels beside the engine.
drawing-air = air
drawing-air-worked-out = air, calculated
drawing-throttle = throttle
drawing-manifold = manifold
drawing-lambda = lambda
drawing-lambda-bank = lambda, bank { $bank }
drawing-lambda-cold = cold
drawing-speed = speed
drawing-coolant = coolant
drawing-supply = supply
drawing-tooth = tooth at sensor
drawing-tooth-gap = gap
drawing-deposit = deposit
drawing-gas-intake = intake and compression
drawing-gas-power = power stroke
drawing-gas-exhaust = exhaust stroke
drawing-gas-fresh = fresh charge
drawing-gas-hot = hot gas
drawing-gas-burnt = burnt gas

# What the pointer points at.
drawn-flexplate = Flexplate
drawn-crank-sensor = Crankshaft sensor
drawn-pulley = Crankshaft pulley
drawn-alternator = Alternator
drawn-intake = Intake
drawn-throttle-body = Throttle body
drawn-air-meter = MAF sensor
drawn-air-filter = Air filter
drawn-sensor-map = Manifold pressure sensor
drawn-oxygen-sensor = Oxygen sensor { $n }
drawn-rings = Rings { $n }
drawn-valves = Valves { $n }
drawn-plug = Plug { $n }
drawn-coil = Coil { $n }
drawn-injector = Injector { $n }
drawn-exhaust = Exhaust { $n }
drawn-egr-valve = EGR valve
drawn-battery = Battery

drawing-spoken = Engine; arrow keys turn it
drawing-not-yet = It can be saved once the car has been handed over
drawing-written = Saved: { $file }
drawing-not-written = { $file } could not be saved: { $why }

# What is said on the command line.
drawing-no-display = no display was found (neither DISPLAY nor WAYLAND_DISPLAY is set)
drawing-display-silent = the display does not respond
drawing-no-driver = no graphics driver was found that the window can use (Vulkan or OpenGL; on Windows Direct3D 12, on macOS Metal)
drawing-ended = the window ended with code { $code }
drawing-unknown = no further details
drawing-unknown-card = unknown graphics card
drawing-frames = { $wide } x { $high } on { $card }: { $per_s } frames/s, { $mean } ms each, 1 % of them over { $slow } ms
