target_link_libraries(core_appliance.build PRIVATE format_appliance_yaml) # the tests read shipped files
