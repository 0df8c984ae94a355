target_link_libraries(core_appliance.judge PRIVATE format_appliance_yaml) # the tests read shipped files
