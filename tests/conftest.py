"""What all tests share: how long a machine takes to draw an example fails none of them (speed is bench/'s)."""

from hypothesis import HealthCheck, settings

settings.register_profile("patient", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("patient")
