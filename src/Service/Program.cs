using Acquire.Service;
using Acquire.Service.Commands;

return AcquireCommand.Run(args, Surroundings.OfProcess());
