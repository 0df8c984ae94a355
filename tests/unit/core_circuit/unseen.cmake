target_link_libraries(core_circuit.unseen PRIVATE format_appliance_yaml) # shipped ovens
