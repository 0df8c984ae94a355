# An appliance is needed around a call.
target_link_libraries(format_call_yaml.call PRIVATE format_appliance_yaml)
