"""Engine: topics of a message broker (MQTT), subscribed to and never published on."""
