target_link_libraries(core_appliance.shipped PRIVATE format_appliance_yaml) # the tests read shipped files
