"""Care of the person: vibration, noise, dust, and who may mount a wheel."""
