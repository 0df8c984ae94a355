target_link_libraries(core_appliance.guide PRIVATE format_appliance_yaml) # the guide holds a file
