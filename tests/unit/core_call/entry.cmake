target_link_libraries(core_call.entry PRIVATE format_appliance_yaml) # the tests read shipped files
