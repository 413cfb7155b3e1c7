using System.CommandLine;
using Acquire.Player;

var settings = new PlayerCommand();
var command = new RootCommand(
    "Plays an invented spin through a pseudo-terminal, as a board would. Writes the port's path to standard error, and what is "
    + "true of the spin to standard output as JSON at the end. "
    + "Example: Acquire.Player --link /tmp/board --speed 60 --minutes 75 --seed 7");
settings.AddTo(command);
command.SetAction((result, cancel) => settings.RunAsync(result, cancel));
return await command.Parse(args).InvokeAsync();
