target_link_libraries(format_call_json.answers PRIVATE format_appliance_yaml) # shipped ovens
